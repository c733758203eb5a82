#include "analysis/statistics/basics/quantile.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::statistics {

std::optional<double> sample_quantile(std::span<const double> sorted, Share q) {
    if (sorted.empty())
        return std::nullopt;
    const double place = q.value() * static_cast<double>(sorted.size() - 1);
    const auto below = static_cast<std::size_t>(std::floor(place));
    const auto above = std::min(below + 1, sorted.size() - 1);
    return sorted[below] + (place - std::floor(place)) * (sorted[above] - sorted[below]);
}

std::optional<Ranks> quantile_ranks(std::int64_t n, Share q, Confidence confidence) {
    if (n < 1)
        return std::nullopt;
    // The number B of values at or below the quantile is binomial(n, q): the interval misses it
    // where B < low or B >= high.
    const BinomialLaw below{.n = n, .p = q.value()};
    const double tail = confidence.each_tail();
    std::int64_t low = binomial_quantile(tail, below);
    while (low > 0 && binomial_cdf(low - 1, below) > tail)
        --low;
    std::int64_t high = std::max<std::int64_t>(low, 1);
    if (binomial_sf(high - 1, below) > tail)
        high = binomial_quantile(1.0 - tail, below);
    while (high <= n && binomial_sf(high - 1, below) > tail)
        ++high;
    if (low < 1 || high > n)
        return std::nullopt;
    return Ranks{.low = low, .high = high};
}

} // namespace dropledger::statistics
