// Intervals of one share: x of n.
//
// Assumes: 0 <= x <= n; anything else is our own bug and throws BrokenInvariant.
// Undefined when: nothing; n = 0 gives 0 … 1, for nothing is known. share_estimate() of 0 of 0 has
// no value.
// Source: Clopper & Pearson 1934 through beta quantiles; Wilson 1927; Jeffreys with the limits at
// x = 0 and x = n set to 0 and 1 (Brown, Cai & DasGupta 2001); see analysis/REFERENCES.md.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

[[nodiscard]] Interval clopper_pearson(std::int64_t x, std::int64_t n, Confidence confidence);
[[nodiscard]] Interval wilson(std::int64_t x, std::int64_t n, Confidence confidence);
[[nodiscard]] Interval jeffreys(std::int64_t x, std::int64_t n, Confidence confidence);
[[nodiscard]] Interval mid_p(std::int64_t x, std::int64_t n, Confidence confidence);

// Clopper-Pearson where the entries are not independent: as if x/inflation of n/inflation had been
// seen. `inflation` is the measured variance inflation; below 1 it counts as 1. Never narrower than
// the plain one.
[[nodiscard]] Interval clopper_pearson_inflated(std::int64_t x, std::int64_t n, double inflation,
                                                Confidence confidence);

// How much wider than Clopper-Pearson's another interval of x of n is, squared; at least 1.
[[nodiscard]] double variance_inflation(const Interval& seen, std::int64_t x, std::int64_t n,
                                        Confidence confidence);

// x/n with the inflated interval; the method says which of the two it was.
[[nodiscard]] std::optional<Estimate> share_estimate(std::int64_t x, std::int64_t n,
                                                     double inflation, Confidence confidence);

} // namespace dropledger::statistics
