// Which passes lie together: the fields of one night.
//
// Two passes are of one field where a row of each comes within twice `reach_m` of the other's; and so
// on from pass to pass.
// Assumes: fields lie at least twice as far apart, passes of a field at most.
#pragma once

#include "analysis/field/audit.hpp"

#include <vector>

namespace dropledger::field {

inline constexpr double reach_m = 15.0;

// Fills parts and part_of; uses the audit's lines, rows, gaps and options.
void add_parts(FieldAudit& audit);

} // namespace dropledger::field
