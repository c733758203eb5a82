// Moving-block bootstrap: the interval of a statistic of a sequence whose values may hang together.
//
// Assumes: a stationary sequence in its order of time. The seed is given and belongs beside the
// result; the same seed gives the same interval on every machine. Undefined when: fewer than four
// values, or the statistic is undefined for the sample itself. Source: Künsch 1989; block length by
// Politis & White 2004 with the correction of Patton, Politis & White 2009 (the circular rule),
// taken for the values and for their squared deviations, the longer of the two, at least 1 and at
// most a quarter of the sequence.
#pragma once

#include "analysis/base/quantity.hpp"
#include "analysis/statistics/estimate.hpp"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>

namespace dropledger::statistics {

using Statistic = std::function<std::optional<double>(std::span<const double>)>;

struct BootstrapSettings {
    std::uint64_t seed = 1;
    std::size_t replicates = 1000;
    std::optional<std::size_t> block_length{}; // nothing: by the rule
};

[[nodiscard]] std::size_t block_length(std::span<const double> values);

// Percentile interval; replicates for which the statistic is undefined are left out, and if fewer
// than half remain there is no interval.
[[nodiscard]] std::optional<Estimate> block_bootstrap(std::span<const double> values,
                                                      const Statistic& statistic,
                                                      const BootstrapSettings& settings,
                                                      Confidence confidence);

} // namespace dropledger::statistics
