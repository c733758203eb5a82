// The audit as one HTML file that needs no network: the machine's sheet first, then, as its annex,
// why and everything else.
//
// The markup is well-formed XML as well. Readable on a screen of 320 px, on paper and without the
// script.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/report/words/machine_sheet.hpp"

#include <string>
#include <vector>

namespace dropledger::report::html {

[[nodiscard]] std::string to_html(const audit::AuditReport& report);
// Several logs on one page.
[[nodiscard]] std::string to_html(const std::vector<audit::AuditReport>& reports);

// What stands inside the page of one log, for a frame that has the styles already.
[[nodiscard]] std::string audit_body(const audit::AuditReport& report);

// The sheet by itself.
[[nodiscard]] std::string sheet_page(const MachineSheet& sheet);

} // namespace dropledger::report::html
