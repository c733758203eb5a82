// The units of a run, worst first: one line a unit, and under a unit that is not within what was
// found and what to do next.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>

namespace dropledger::report {

class Page;

void add_verdict_table(Page& page, const audit::AuditReport& report);
[[nodiscard]] std::string verdict_table(const audit::AuditReport& report);

} // namespace dropledger::report
