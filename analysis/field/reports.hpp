// What a field audit says of passes, alerts, rows, fields, and what is wrong with the units.
//
// Units: in the names; shares 0 … 1.
// Undefined when: said at each member.
#pragma once

#include "analysis/causes/cause.hpp"
#include "analysis/field/table/drop.hpp"
#include "analysis/field/judge/judge.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::field {

struct LineReport { // one pass of one row
    LineKey key;
    std::int64_t drops = 0;
    std::int64_t first_drop = 0;
    std::int64_t last_drop = 0;
    std::int64_t silent = 0;
    std::int64_t gaps = 0;
    std::int64_t alerts = 0;
    Background steady; // its drops outside lasting silences, starts and bad cells
    double longest_gap_m = 0.0;
    double length_m = 0.0;
    double begins_s = 0.0;
    double ends_s = 0.0;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0; // expected, between what bounds
    double seeds_lost_high = 0.0;
    std::vector<Place> outline; // the pass along its drops, first and last among them
};

struct Alert {
    LineKey key;
    std::int64_t drop = 0;
    double time_s = 0.0;
    Place at;
    bool seen = false;              // the sensor saw a seed at this drop
    std::optional<std::size_t> gap; // that it belongs to, of `gaps`
    Chance missing;                 // of that gap; none: 0 to 1
};

// How this machine's alerts come: so many drops behind the silent one that set them off.
struct AlertDelay {
    std::int64_t drops = 0;
    double explains = 0.0; // share of the alerts
};

struct RowReport {
    RowJudge judge;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::int64_t gaps = 0;
    std::int64_t alerts = 0;
    std::int64_t doubles = 0; // drops for which more was seen than commanded
    double longest_gap_m = 0.0;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0; // between what bounds, by chance too
    double seeds_lost_high = 0.0;
    // Spacing indices as ISO 7256-1 counts them, each drop taken at its commanded place; singles
    // only.
    std::optional<double> miss_index;
    std::optional<double> multiples_index;
    std::int64_t offsets = 0;
    std::optional<double> within_guard; // share of them
};

// Passes that lie together: one field of the night.
struct FieldPart {
    std::int64_t number = 0; // in the order of their passes
    std::string name;        // where the input says
    std::int64_t first_pass = 0;
    std::int64_t last_pass = 0;
    std::int64_t passes = 0;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::int64_t gaps = 0;
    std::int64_t alerts = 0;
    std::int64_t reseed_gaps = 0;
    double reseed_m = 0.0;
    Place low; // its corners
    Place high;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0;
    double seeds_lost_high = 0.0;
    std::optional<double> net_gain; // of re-seeding it
    std::vector<std::int64_t>
        worst_rows; // up to three, by what is surely lost; only rows that lose a seed or more

    [[nodiscard]] Place middle() const { return {(low.x + high.x) / 2.0, (low.y + high.y) / 2.0}; }
};

// Gaps of that many drops: how many there are, and how many isolated random misses at each line's
// rate would make.
struct GapLength {
    std::int64_t drops = 0; // the last class: this and more
    std::int64_t observed = 0;
    double expected = 0.0;
};

// Gaps begin more often here than elsewhere.
struct Concentration {
    std::string
        where; // "row 3", "pass 12", "first 10 drops of a pass", "the hour from 23:00 (UTC)"
    std::int64_t gaps = 0;
    double expected = 0.0;
    double p_value = 1.0; // Holm-adjusted within its kind
};

// What is likely wrong in one row: named once, by what costs most.
struct FieldCause {
    causes::CauseKind kind{};
    std::vector<causes::CauseKind> could_be; // leave the same trace; the likeliest first
    std::int64_t row = 0;
    std::vector<std::int64_t> rows_alike; // that fell silent at the same drops
    std::optional<std::int64_t> pass;     // where it shows, or begins
    std::optional<std::int64_t> last_pass;
    double p_value = 1.0;
    double seeds = 0.0; // that it may have cost
    std::string evidence;
    std::string look_at;
    std::vector<std::int64_t> drops;     // of `pass`; the first ones
    std::vector<causes::CauseKind> also; // further traces in this row
};

} // namespace dropledger::field
