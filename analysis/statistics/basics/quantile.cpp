#include "analysis/statistics/basics/quantile.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::statistics {

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

double value_at_share(std::vector<double> values, Share share) {
    const auto at = values.begin() + static_cast<std::ptrdiff_t>(
                                         share.value() * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

} // namespace dropledger::statistics
