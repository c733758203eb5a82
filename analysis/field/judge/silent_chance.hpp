// P(missing | silent) of drops that are silent singly, from how many are and from what the gate may
// overlook.
//
// Notation as in judge.hpp: s silent share, f share of drops that the gate overlooks as a whole.
#pragma once

#include "analysis/field/judge/gaps.hpp"
#include "analysis/field/judge/judge.hpp"

#include <vector>

namespace dropledger::field {

// Values of f from the greatest to the least, each as likely as the others: one, where the
// efficiency is exact.
using Overlooked = std::vector<double>;

// The values that the counts make unlikely count for less. Not empty.
[[nodiscard]] Chance chance_of(const Background& background, const Overlooked& overlooked);

} // namespace dropledger::field
