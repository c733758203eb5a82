#include "analysis/statistics/more_needed.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

namespace {

// Does the Clopper-Pearson interval of share * n of n (effective, not whole) hold the limit? Asked
// of the beta distribution directly: the limit is inside just where neither tail of it is too
// small.
bool holds(double share, double n, double limit, double tail) {
    const double x = share * n;
    const bool above_low = x <= 0.0 || beta_cdf(limit, {.a = x, .b = n - x + 1.0}) > tail;
    const bool below_high = x >= n || beta_sf(limit, {.a = x + 1.0, .b = n - x}) > tail;
    return above_low && below_high;
}

} // namespace

std::optional<std::int64_t> more_needed(const ShareSeen& seen, Share limit, Confidence confidence,
                                        std::int64_t cap) {
    if (seen.x < 0 || seen.x > seen.n)
        throw BrokenInvariant("more_needed: more hits than entries");
    if (seen.n == 0)
        return std::nullopt;
    const double inflation = std::max(1.0, seen.inflation);
    const double share = static_cast<double>(seen.x) / static_cast<double>(seen.n);
    const auto straddles = [&](std::int64_t more) {
        const double size = static_cast<double>(seen.n + more) / inflation;
        return holds(share, size, limit.value(), confidence.each_tail());
    };
    if (!straddles(0))
        return 0;
    if (straddles(cap))
        return std::nullopt;
    std::int64_t low = 0; // straddles
    std::int64_t high = cap;
    while (high - low > 1) {
        const std::int64_t middle = low + (high - low) / 2;
        (straddles(middle) ? low : high) = middle;
    }
    return high;
}

std::optional<std::int64_t> more_needed(const Estimate& estimate, std::int64_t n, double limit,
                                        std::int64_t cap) {
    if (!estimate.interval || n < 1)
        return std::nullopt;
    const Interval interval = *estimate.interval;
    if (limit < interval.low || limit > interval.high)
        return 0;
    const double half =
        limit > estimate.value ? interval.high - estimate.value : estimate.value - interval.low;
    const double apart = std::abs(limit - estimate.value);
    const double times = half / apart; // infinite on the limit
    const double more = std::floor(static_cast<double>(n) * (times * times - 1.0)) + 1.0;
    if (!(more <= static_cast<double>(cap)))
        return std::nullopt;
    return static_cast<std::int64_t>(more);
}

} // namespace dropledger::statistics
