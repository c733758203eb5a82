// What may be wrong with a row's unit, from its silent drops: each with evidence, and what to look
// at first.
//
// Kinds: empty_container (silence to the end of a pass), bridging (lasting silences that end),
// bad_cell (silence at one residue of the drop index), start_loss (passes begin silent),
// speed_dependence (more silence at some speed of travel), meter_or_sensor (independent silent
// drops, more than in the other rows: which of the two cannot be told without the gate's
// efficiency), meter and sensor (where it can).
#pragma once

#include "analysis/field/audit.hpp"

#include <vector>

namespace dropledger::field {

// Uses the audit's field, gaps, rows and lines. Family-wise error 1 % per kind (Holm).
[[nodiscard]] std::vector<FieldCause> field_causes(const FieldAudit& audit);

} // namespace dropledger::field
