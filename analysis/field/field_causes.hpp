// What is likely wrong with each row: named once, by what costs most, the costliest row first.
//
// Where several causes leave the same trace all are named (`could_be`); what else the row shows
// stands in `also`. Rows are blamed beyond chance (1 in 500 and less) and only where what they show
// is worth naming: lasting silences, starts and cells beyond chance; 5 % doubles; 3.8 % single silent
// drops and twice as many as the other rows have.
#pragma once

#include "analysis/field/audit.hpp"

#include <vector>

namespace dropledger::field {

// Uses the audit's rows and lines.
[[nodiscard]] std::vector<FieldCause> field_causes(const FieldAudit& audit);

} // namespace dropledger::field
