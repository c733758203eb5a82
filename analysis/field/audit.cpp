#include "analysis/field/audit.hpp"

#include "analysis/field/concentration.hpp"
#include "analysis/field/decision.hpp"
#include "analysis/field/dig.hpp"
#include "analysis/field/field_causes.hpp"
#include "analysis/field/lines.hpp"
#include "analysis/field/notes.hpp"
#include "analysis/field/parts.hpp"
#include "analysis/field/route.hpp"

namespace dropledger::field {

namespace {

// What is worth re-seeding, and where to dig first.
std::vector<std::size_t> stops_of(const FieldAudit& audit) {
    std::vector<std::size_t> stops;
    for (std::size_t i = 0; i < audit.gaps.size(); ++i)
        if (audit.worth_reseeding(audit.gaps[i]) || (audit.dig && audit.dig->gap == i))
            stops.push_back(i);
    return stops;
}

} // namespace

FieldAudit audit_field(Field field, FieldOptions options) {
    FieldAudit audit;
    audit.field = std::move(field);
    audit.options = std::move(options);
    audit.notes = audit.field.notes;
    audit.ground = ground_of(audit.field);
    AlertCounts alerts;
    {
        const Judged judged =
            judge_drops(audit.field, {.efficiencies = audit.options.gate_efficiencies,
                                      .assumption = audit.options.assumption,
                                      .findings = audit.options.findings});
        alerts = add_lines(judged, audit);
    }
    add_alerts(alerts, audit);
    add_notes(audit);
    audit.gap_lengths = gap_lengths(audit.lines, audit.gaps);
    audit.concentrations = concentrations(audit.field, audit.gaps);
    audit.causes = field_causes(audit);
    audit.dig = where_to_dig(audit);
    audit.walk = walk_to(audit.gaps, stops_of(audit), audit.field.geographic);
    add_decision(audit);
    add_parts(audit);
    return audit;
}

} // namespace dropledger::field
