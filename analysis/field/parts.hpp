// Which passes lie together: the fields of one night.
//
// Two passes are of one field where the rectangles round them, each widened by `reach_m`, meet; and
// so on from pass to pass.
// Assumes: fields lie at least twice as far apart, passes of a field at most.
#pragma once

#include "analysis/field/audit.hpp"

#include <vector>

namespace dropledger::field {

inline constexpr double reach_m = 15.0;

// Fills parts and part_of; uses the audit's lines, rows, gaps and options.
void add_parts(FieldAudit& audit);

} // namespace dropledger::field
