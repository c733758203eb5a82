// p-values adjusted for several tests at once.
//
// Assumes: 0 <= p <= 1. Adjusted values come in the order of the given ones.
// Source: Holm 1979; holds the family-wise error whatever the tests' dependence.
#pragma once

#include <span>
#include <vector>

namespace dropledger::statistics {

[[nodiscard]] std::vector<double> holm(std::span<const double> p_values);

} // namespace dropledger::statistics
