// The audit as text for a terminal of 80 columns, without colour.
//
// Text is ASCII, except what comes out of a log.
// Undefined when: a quantity prints "not defined".
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>
#include <vector>

namespace dropledger::report {

// brief: the verdict and the units. usual: also what each unit that is not within was judged by.
// full: all that was found. The units stand last in each of them, worst first.
enum class Detail { brief, usual, full };

[[nodiscard]] std::string to_text(const audit::AuditReport& report, Detail detail = Detail::full);
// One behind the other, then the units that ran at three speeds or more.
[[nodiscard]] std::string to_text(const std::vector<audit::AuditReport>& reports,
                                  Detail detail = Detail::full);

} // namespace dropledger::report
