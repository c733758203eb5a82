// The audit as text for a terminal of 80 columns, without colour.
//
// Text is ASCII, except what comes out of a log.
// Undefined when: a quantity prints "not defined".
#pragma once

#include "analysis/audit/model.hpp"

#include <string>
#include <vector>

namespace dropledger::report {

[[nodiscard]] std::string to_text(const audit::AuditReport& report);
// One behind the other, then the units that ran at three speeds or more.
[[nodiscard]] std::string to_text(const std::vector<audit::AuditReport>& reports);

} // namespace dropledger::report
