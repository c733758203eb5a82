// The audit as one JSON object with stable keys, for other programs.
//
// Units: shares are fractions, lengths mm, times as the key says.
// Undefined when: a quantity is null; the channel's notes say why.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>
#include <vector>

namespace dropledger::report {

[[nodiscard]] std::string to_json(const audit::AuditReport& report);

// Several logs: {"schema", "audits": […], "series": […], "outcome"}, the outcome being the worst; a
// series for each unit that ran at three speeds or more.
[[nodiscard]] std::string to_json(const std::vector<audit::AuditReport>& reports);

} // namespace dropledger::report
