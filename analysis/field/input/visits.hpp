// Pass numbers that began anew, told apart by time and place.
//
// A stretch of a pass and row begins where the drop number falls back and the machine is somewhere
// (30 m) or sometime (5 minutes) else; where it holds the same drops at the same place and time it is
// a copy. Split only where more than 2 % of the rows repeat a drop and the stretches account for
// nearly all of that.
#pragma once

#include "analysis/field/input/drops.hpp"

namespace dropledger::field {

// Numbers the stretches anew in the order in which they stand in the table, and names them. Lines
// hold their drops as they came.
void split_visits(Field& field);

// By number, then by line of the table.
[[nodiscard]] bool by_drop(const FieldDrop& a, const FieldDrop& b);
[[nodiscard]] bool grows(const std::vector<FieldDrop>& drops);

} // namespace dropledger::field
