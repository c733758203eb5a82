// Small logs of our own making, one for each mode, for tests of what a report says.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/ledger/setup.hpp"

#include <string>
#include <vector>

namespace dropledger::audit::sample {

struct Run {
    ledger::Mode mode = ledger::Mode::single;
    int channels = 1;
    int drops = 400;
    std::string unit = "U-1"; // the channel's number follows
    std::string crop = "chicory";
    bool closed = true;
    std::vector<std::string> remarks{}; // at the head of the log
    bool places = true;                 // says where its gates sit
    bool by_cell = true;                // single: misses and doubles come round, as of a bad cell
    bool in_rows = false;               // single: misses come six in a row
};

[[nodiscard]] std::string log_of(const Run& run);
// Audited by a profile whose limits are near what the run does.
[[nodiscard]] audit::AuditReport report_of(const Run& run);
// Five spacings from a list.
[[nodiscard]] audit::AuditReport report_of_spacings();

} // namespace dropledger::audit::sample
