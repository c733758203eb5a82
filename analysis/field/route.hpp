// The order in which to walk to gaps: from each to the nearest next one, then pairs of ways
// uncrossed (2-opt) until none is longer than need be.
//
// A gap is walked from its near end to its far one; between the middles for the uncrossing.
// Deterministic. Units: metres as the crow flies. Undefined when: nothing; no stops, no way.
#pragma once

#include "analysis/field/audit.hpp"

#include <vector>

namespace dropledger::field {

[[nodiscard]] Walk walk_to(const std::vector<Gap>& gaps, std::vector<std::size_t> stops,
                           bool geographic);

} // namespace dropledger::field
