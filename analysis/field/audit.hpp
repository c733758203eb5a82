// The field audit: gaps, alerts judged, causes, what re-seeding would take, where to dig and walk.
//
// Units: in the names; shares 0 … 1.
// Undefined when: said at each member.
#pragma once

#include "analysis/field/input/drops.hpp"
#include "analysis/field/input/sense.hpp"
#include "analysis/field/judge/gaps.hpp"
#include "analysis/field/options.hpp"
#include "analysis/field/plan.hpp"
#include "analysis/field/reports.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::field {

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
    std::string lacking; // which drops the table has no row of, in a sentence; empty: none is known
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
