// The field audit: gaps, alerts judged, causes, what re-seeding would take, where to dig and walk.
//
// Units: in the names; shares 0 … 1.
// Undefined when: said at each member.
#pragma once

#include "analysis/causes/cause.hpp"
#include "analysis/field/input/drops.hpp"
#include "analysis/field/input/sense.hpp"
#include "analysis/field/judge/gaps.hpp"
#include "analysis/field/judge/judge.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::field {

// What the user says doing nothing and re-seeding cost; nothing is assumed, a missing one is named.
struct Costs {
    std::optional<double> per_lost_plant;
    std::optional<double> per_reseeded_metre;
    std::optional<double> per_gap; // to walk or drive to it
    std::optional<double> per_seed;
    double late_value = 1.0; // of a plant re-seeded late, against one in time
};

// How long re-seeding takes; round figures unless the user says otherwise.
struct Pace {
    double reseed_mps = 0.3;
    double walk_mps = 1.2;
    double seconds_per_gap = 20.0;
};

struct FieldOptions {
    std::string file;
    GateEfficiencies gate_efficiencies;
    Assumption assumption = Assumption::none;
    double reseed_min_m = 1.0;
    double germination = 1.0;
    std::optional<double> guard_mm;
    std::optional<Costs> costs;
    Pace pace;
    Findings findings;
};

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
    std::string where; // "row 3", "pass 12", "first 10 drops of a pass", "the hour from 23:00 (UTC)"
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

struct Reseed {
    double min_length_m = 0.0;
    std::int64_t gaps = 0; // at least so long and seed missing
    std::int64_t seeds = 0;
    double length_m = 0.0;
    double minutes = 0.0;            // of re-seeding and of the way
    std::int64_t undecided_gaps = 0; // as long, but whether seed is missing is not known
    double undecided_length_m = 0.0;
    std::int64_t undecided_seeds = 0;
    double plants_lost = 0.0;                  // in the gaps worth it
    double plants_back = 0.0;                  // as good as so many in time, once re-seeded
    std::vector<std::string> costs_missing;    // without which worth can't be told
    std::optional<double> cost_of_nothing_low; // of all plants lost, whatever the list's threshold
    std::optional<double> cost_of_nothing;     // as expected of what is judged missing
    std::optional<double> cost_of_nothing_high;
    std::optional<double> cost_of_reseeding;
    std::optional<double> net_gain;
    std::optional<double> break_even_m; // a gap from this length on pays
};

// One length of row whose look settles most.
struct Dig {
    std::size_t gap = 0;     // of `gaps`
    std::int64_t alerts = 0; // that it settles
    double length_m = 0.0;   // of open gaps that it settles
    std::int64_t rows = 1;
    bool single_drops = false; // look at several silent drops round it
};

struct Walk {
    std::vector<std::size_t> stops; // of `gaps`, in walking order
    double way_m = 0.0;
    double way_in_list_order_m = 0.0;
};

struct FieldAudit {
    Field field;
    FieldOptions options;
    Ground ground;
    std::vector<LineReport> lines;
    std::vector<RowReport> rows;
    std::vector<FieldPart> parts;
    std::map<std::int64_t, std::size_t> part_of; // by pass, of `parts`
    std::vector<Gap> gaps;
    std::vector<Alert> alerts;
    std::optional<AlertDelay> alert_delay;
    std::vector<std::size_t> silent_alarms; // gaps that should have raised an alert and did not
    std::optional<std::int64_t> alert_after_drops; // what this machine's alerts seem to wait for
    std::vector<GapLength> gap_lengths;
    std::vector<Concentration> concentrations;
    std::vector<FieldCause> causes; // by what they cost
    Reseed reseed;
    std::optional<Dig> dig;
    Walk walk;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0;
    double seeds_lost_high = 0.0;
    std::vector<std::string> notes;

    [[nodiscard]] double plants_lost_low() const { return seeds_lost_low * options.germination; }
    [[nodiscard]] double plants_lost_high() const { return seeds_lost_high * options.germination; }
    [[nodiscard]] std::int64_t alerts_judged(Judgement judgement) const;
    [[nodiscard]] bool worth_reseeding(const Gap& gap) const;
    // Of re-seeding one gap; empty where a cost is missing.
    [[nodiscard]] std::optional<double> net_gain(const Gap& gap) const;
    [[nodiscard]] bool undecided(const Gap& gap) const; // long enough, and not known
};

[[nodiscard]] FieldAudit audit_field(Field field, FieldOptions options);

} // namespace dropledger::field
