// One line a unit: outcome, key numbers, the run in small; and the units that are unlike their
// siblings.
//
// Undefined when: there is only one channel: an empty string.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>

namespace dropledger::report::html {

// `prefix` leads to the channels' sections: prefix + channel number.
[[nodiscard]] std::string machine_section(const audit::AuditReport& report,
                                          const std::string& prefix);

} // namespace dropledger::report::html
