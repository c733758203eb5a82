// The field audit: gaps, alerts judged, where silence concentrates, and what re-seeding would take.
//
// Units: in the names; shares 0 … 1.
// Undefined when: said at each member.
#pragma once

#include "analysis/causes/cause.hpp"
#include "analysis/field/input/drops.hpp"
#include "analysis/field/judge/gaps.hpp"
#include "analysis/field/judge/judge.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::field {

// What the user says doing nothing and re-seeding cost; nothing is assumed.
struct Costs {
    double per_lost_plant = 0.0;
    double per_reseeded_metre = 0.0;
    double per_gap = 0.0; // to walk or drive to it
    double per_seed = 0.0;
};

struct FieldOptions {
    std::string file;
    GateEfficiencies gate_efficiencies;
    Assumption assumption = Assumption::none;
    double reseed_min_m = 1.0;
    double germination = 1.0;
    std::optional<double> guard_mm;
    std::optional<Costs> costs;
};

struct LineReport { // one pass of one row
    LineKey key;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::int64_t gaps = 0;
    std::int64_t alerts = 0;
    double longest_gap_m = 0.0;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0; // expected, between what bounds
    double seeds_lost_high = 0.0;
    // The pass in at most nine places, evenly by drop, first and last among them
    std::vector<Place> outline;
};

struct Alert {
    LineKey key;
    std::int64_t drop = 0;
    double time_s = 0.0;
    Place at;
    bool seen = false; // the sensor saw a seed at this drop
    Chance missing;
};

struct RowReport {
    RowJudge judge;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::int64_t gaps = 0;
    std::int64_t alerts = 0;
    double longest_gap_m = 0.0;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0; // expected, between what bounds
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
    std::int64_t first_pass = 0;
    std::int64_t last_pass = 0;
    std::int64_t passes = 0;
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::int64_t gaps = 0;
    std::int64_t alerts = 0;
    std::int64_t reseed_gaps = 0;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0;
    double seeds_lost_high = 0.0;
    // Up to three, by what is surely lost; only rows that lose a seed or more
    std::vector<std::int64_t> worst_rows;
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
    std::string where; // "row 3", "pass 12", "first 10 drops of a pass", "hour 23 UTC"
    std::int64_t gaps = 0;
    double expected = 0.0;
    double p_value = 1.0; // Holm-adjusted within its kind
};

struct FieldCause {
    causes::CauseKind kind{};
    std::int64_t row = 0;
    std::optional<std::int64_t> pass;
    double p_value = 1.0;
    std::string evidence;
    std::string look_at;
    std::vector<std::int64_t> drops; // of `pass`; the first ones
};

struct Reseed {
    double min_length_m = 0.0;
    std::int64_t gaps = 0; // at least so long and seed missing
    std::int64_t seeds = 0;
    double length_m = 0.0;
    std::int64_t undecided_gaps = 0; // as long, but whether seed is missing is not known
    double plants_lost = 0.0;        // in the gaps worth it
    std::optional<double> cost_of_nothing;
    std::optional<double> cost_of_reseeding;
};

struct FieldAudit {
    Field field;
    FieldOptions options;
    std::vector<LineReport> lines;
    std::vector<RowReport> rows;
    std::vector<FieldPart> parts;
    std::vector<Gap> gaps;
    std::vector<Alert> alerts;
    std::vector<std::size_t> silent_alarms; // gaps that should have raised an alert and did not
    std::optional<std::int64_t> alert_after_drops; // what this machine's alerts seem to wait for
    std::vector<GapLength> gap_lengths;
    std::vector<Concentration> concentrations;
    std::vector<FieldCause> causes;
    Reseed reseed;
    double seeds_commanded = 0.0;
    double seeds_lost_low = 0.0;
    double seeds_lost_high = 0.0;
    std::vector<std::string> notes;

    [[nodiscard]] double plants_lost_low() const { return seeds_lost_low * options.germination; }
    [[nodiscard]] double plants_lost_high() const { return seeds_lost_high * options.germination; }
    [[nodiscard]] std::int64_t alerts_judged(Judgement judgement) const;
    [[nodiscard]] bool worth_reseeding(const Gap& gap) const;
};

[[nodiscard]] FieldAudit audit_field(Field field, FieldOptions options);

} // namespace dropledger::field
