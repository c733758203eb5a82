// Each pass of each row: its gaps, what it lost, its outline, and where alerts came; one line is
// unpacked at a time.
#pragma once

#include "analysis/field/alerts.hpp"
#include "analysis/field/audit.hpp"

#include <map>

namespace dropledger::field {

// Fills lines, gaps and rows of the audit; gives what its alerts came at.
[[nodiscard]] AlertCounts add_lines(const Judged& judged, FieldAudit& audit);

} // namespace dropledger::field
