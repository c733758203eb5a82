// p-values adjusted for several tests at once.
//
// Assumes: 0 <= p <= 1. Adjusted values come in the order of the given ones.
// Source: Holm 1979 and Hochberg 1988 hold the family-wise error (Hochberg for independent or
// positively dependent tests); Benjamini & Hochberg 1995 the false discovery rate.
#pragma once

#include <span>
#include <vector>

namespace dropledger::statistics {

[[nodiscard]] std::vector<double> holm(std::span<const double> p_values);
[[nodiscard]] std::vector<double> hochberg(std::span<const double> p_values);
[[nodiscard]] std::vector<double> benjamini_hochberg(std::span<const double> p_values);

} // namespace dropledger::statistics
