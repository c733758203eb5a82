// A quantile of a sample, and the ranks of its distribution-free interval.
//
// Undefined when: no values; ranks where the sample is too small for the confidence asked
// (the 95th percentile needs some 70 values for a two-sided 95 % interval).
// Source: order-statistic intervals, David & Nagaraja, ch. 7.
#pragma once

#include "analysis/base/units.hpp"

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

namespace dropledger::statistics {

// 1-based ranks: the interval goes from the low-th to the high-th smallest of n values.
struct Ranks {
    std::int64_t low = 0;
    std::int64_t high = 0;
};

// Each tail holds at most (1 - confidence)/2; exact by the binomial, for any continuous
// distribution.
[[nodiscard]] std::optional<Ranks> quantile_ranks(std::int64_t n, Share q, Confidence confidence);

// The value that has share·(n - 1) of the others below it, rounded down: one of the sample's own.
[[nodiscard]] double value_at_share(std::vector<double> values, Share share);
[[nodiscard]] inline double lower_median(std::vector<double> values) {
    return value_at_share(std::move(values), Share{0.5});
}

} // namespace dropledger::statistics
