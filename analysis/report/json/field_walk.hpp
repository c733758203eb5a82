// The walk to the gaps as files: a table (CSV), GPX 1.1 and KML 2.2; stops numbered and named alike
// in all of them, in the map and in the report ("17 · row 4 · 5.4 m").
//
// Stops are the gaps worth re-seeding and the one place where to dig first, in walking order.
// Undefined when: places are in a plane system: there is no GPX or KML of them. Source: GPX 1.1
// schema (topografix.com/GPX/1/1), OGC 07-147r2 (KML 2.2); element order from memory.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/field/audit.hpp"

#include <string>

namespace dropledger::report::field {

struct TableForm {
    char separator = ',';
    char decimal = '.';
};

[[nodiscard]] std::string walking_list(const dropledger::field::FieldAudit& audit,
                                       const TableForm& form = {});
[[nodiscard]] Result<std::string> to_gpx(const dropledger::field::FieldAudit& audit);
[[nodiscard]] Result<std::string> to_kml(const dropledger::field::FieldAudit& audit);

// "17 · row 4 · 5.4 m"; `stop` counts from 0.
[[nodiscard]] std::string stop_name(const dropledger::field::FieldAudit& audit, std::size_t stop);

} // namespace dropledger::report::field
