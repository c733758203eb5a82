// Notation: x hits of n entries so far, y of m more; all of them effective counts, divided by the
// variance inflation, so they need not be whole.
#include "analysis/statistics/shares/more_needed.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/chain_law.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace dropledger::statistics {

namespace {

struct Limits {
    double share = 0.0;
    double tail = 0.025;
};

// Clopper-Pearson's interval of x of n lies below, or above, the limit.
bool lies_below(double x, double n, const Limits& limits) {
    return x < n && beta_sf(limits.share, {.a = x + 1.0, .b = n - x}) <= limits.tail;
}
bool lies_above(double x, double n, const Limits& limits) {
    return x > 0.0 && beta_cdf(limits.share, {.a = x, .b = n - x + 1.0}) <= limits.tail;
}

// Where `holds`, true at one end of 0 … n and false at the other, changes.
template <class Holds> double turning_point(const Holds& holds, double n) {
    double low = 0.0;
    double high = n;
    const bool at_low = holds(low);
    for (int halving = 0; halving < 50 && high - low > 1e-6; ++halving) {
        const double middle = (low + high) / 2.0;
        (holds(middle) == at_low ? low : high) = middle;
    }
    return low;
}

// P(Y <= k) of a binomial count among m that need not be whole.
double at_most(double k, double m, double p) {
    const double whole = std::floor(k + 1e-9);
    if (whole < 0.0)
        return 0.0;
    return whole >= m ? 1.0 : beta_sf(p, {.a = whole + 1.0, .b = m - whole});
}

class Forecast {
public:
    Forecast(const ShareSeen& seen, const Limits& limits)
        : inflation_(std::max(1.0, seen.inflation)), x_(static_cast<double>(seen.x) / inflation_),
          n_(static_cast<double>(seen.n) / inflation_), limits_(limits),
          shares_(spread_over({.a = x_ + 0.5, .b = n_ - x_ + 0.5})) {}

    [[nodiscard]] bool is_decided() const {
        return lies_below(x_, n_, limits_) || lies_above(x_, n_, limits_);
    }

    [[nodiscard]] double chance(std::int64_t more) const {
        const double m = static_cast<double>(more) / inflation_;
        const double all = n_ + m;
        const auto below = [&](double x) { return lies_below(x, all, limits_); };
        const auto above = [&](double x) { return lies_above(x, all, limits_); };
        const bool can_be_below = below(0.0);
        const double most_below = can_be_below ? turning_point(below, all) - x_ : -1.0;
        const double least_above = above(all) ? turning_point(above, all) - x_ : m;
        double chance = 0.0;
        for (const WeightedValue& p : shares_)
            chance += p.weight *
                      (at_most(most_below, m, p.value) + 1.0 - at_most(least_above, m, p.value));
        return chance;
    }

private:
    double inflation_;
    double x_;
    double n_;
    Limits limits_;
    std::vector<WeightedValue> shares_;
};

// The least number with the chance asked for, where the chance grows with the number.
template <class Chance>
std::optional<std::int64_t> least_number(const Chance& chance, std::int64_t cap) {
    std::int64_t low = 0;
    std::int64_t high = 1;
    while (chance(high) < chance_of_deciding) {
        if (high >= cap)
            return std::nullopt;
        low = high;
        high = std::min(cap, 2 * high);
    }
    while (high - low > std::max<std::int64_t>(1, high / 200)) {
        const std::int64_t middle = low + (high - low) / 2;
        (chance(middle) < chance_of_deciding ? low : high) = middle;
    }
    return high;
}

} // namespace

std::optional<std::int64_t> more_needed(const ShareSeen& seen, Share limit, Confidence confidence,
                                        std::int64_t cap) {
    if (seen.x < 0 || seen.x > seen.n)
        throw BrokenInvariant("more_needed: more hits than entries");
    if (seen.n == 0)
        return std::nullopt;
    const Forecast forecast(seen, {.share = limit.value(), .tail = confidence.each_tail()});
    if (forecast.is_decided())
        return 0;
    return least_number([&](std::int64_t more) { return forecast.chance(more); }, cap);
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
    const double error = half / normal_quantile(1.0 - estimate.confidence.each_tail());
    if (!(error > 0.0))
        return std::nullopt;
    const auto chance = [&](std::int64_t more) {
        const double all = static_cast<double>(n + more);
        const double later = half * std::sqrt(static_cast<double>(n) / all);
        const double moves = error * std::sqrt(static_cast<double>(more) / all);
        return normal_cdf((apart - later) / moves) + normal_cdf((-apart - later) / moves);
    };
    return least_number(chance, cap);
}

} // namespace dropledger::statistics
