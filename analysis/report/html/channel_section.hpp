// One channel's section of the page: why, ledger, pictures, quantities, what was assumed.
//
// Assumes: `prefix` is unlike that of any other section on the page; ids are made from it.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>

namespace dropledger::report::html {

[[nodiscard]] std::string channel_section(const audit::AuditReport& report,
                                          const audit::ChannelReport& channel,
                                          const std::string& prefix);

} // namespace dropledger::report::html
