// The ranks of a quantile's distribution-free interval.
//
// Undefined when: no values; where the sample is too small for the confidence asked
// (the 95th percentile needs some 70 values for a two-sided 95 % interval).
// Source: order-statistic intervals, David & Nagaraja, ch. 7.
#pragma once

#include "analysis/base/units.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

// 1-based ranks: the interval goes from the low-th to the high-th smallest of n values.
struct Ranks {
    std::int64_t low = 0;
    std::int64_t high = 0;
};

// Each tail holds at most (1 - confidence)/2; exact by the binomial, for any continuous
// distribution.
[[nodiscard]] std::optional<Ranks> quantile_ranks(std::int64_t n, Share q, Confidence confidence);

} // namespace dropledger::statistics
