#include "analysis/statistics/shares/proportion.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

namespace {

void check(std::int64_t x, std::int64_t n) {
    if (x < 0 || x > n)
        throw BrokenInvariant(fmt::format("share: {} of {}", x, n));
}

// x and n need not be whole: they are effective counts.
Interval beta_interval(double x, double n, Confidence confidence) {
    const double tail = confidence.each_tail();
    return {.low = x <= 0.0 ? 0.0 : beta_quantile(tail, {.a = x, .b = n - x + 1.0}),
            .high = x >= n ? 1.0 : beta_quantile(1.0 - tail, {.a = x + 1.0, .b = n - x})};
}

// The p at which `falling`, a decreasing function of p, reaches `target`.
template <class Function> double crossing(const Function& falling, double target) {
    double low = 0.0;
    double high = 1.0;
    while (high - low > 1e-15 * std::max(high, 1e-300) && low + (high - low) / 2.0 > low &&
           low + (high - low) / 2.0 < high) {
        const double middle = low + (high - low) / 2.0;
        (falling(middle) > target ? low : high) = middle;
    }
    return low + (high - low) / 2.0;
}

} // namespace

Interval clopper_pearson(std::int64_t x, std::int64_t n, Confidence confidence) {
    check(x, n);
    return beta_interval(static_cast<double>(x), static_cast<double>(n), confidence);
}

Interval wilson(std::int64_t x, std::int64_t n, Confidence confidence) {
    check(x, n);
    if (n == 0)
        return {.low = 0.0, .high = 1.0};
    const double size = static_cast<double>(n);
    const double share = static_cast<double>(x) / size;
    const double z = normal_quantile(1.0 - confidence.each_tail());
    const double scale = 1.0 + z * z / size;
    const double centre = (share + z * z / (2.0 * size)) / scale;
    const double half =
        z / scale * std::sqrt(share * (1.0 - share) / size + z * z / (4.0 * size * size));
    return {.low = x == 0 ? 0.0 : centre - half, .high = x == n ? 1.0 : centre + half};
}

Interval jeffreys(std::int64_t x, std::int64_t n, Confidence confidence) {
    check(x, n);
    const double tail = confidence.each_tail();
    const BetaShape shape{.a = static_cast<double>(x) + 0.5, .b = static_cast<double>(n - x) + 0.5};
    return {.low = x == 0 ? 0.0 : beta_quantile(tail, shape),
            .high = x == n ? 1.0 : beta_quantile(1.0 - tail, shape)};
}

Interval mid_p(std::int64_t x, std::int64_t n, Confidence confidence) {
    check(x, n);
    const double tail = confidence.each_tail();
    // P(X < x) + P(X = x)/2, decreasing in p
    const auto below = [&](double p) {
        return binomial_cdf(x - 1, {n, p}) + binomial_pmf(x, {n, p}) / 2.0;
    };
    return {.low = x == 0 ? 0.0 : crossing(below, 1.0 - tail),
            .high = x == n ? 1.0 : crossing(below, tail)};
}

Interval clopper_pearson_inflated(std::int64_t x, std::int64_t n, double inflation,
                                  Confidence confidence) {
    const Interval plain = clopper_pearson(x, n, confidence);
    if (!(inflation > 1.0) || n == 0)
        return plain;
    const Interval wide = beta_interval(static_cast<double>(x) / inflation,
                                        static_cast<double>(n) / inflation, confidence);
    return {.low = std::min(plain.low, wide.low), .high = std::max(plain.high, wide.high)};
}

double variance_inflation(const Interval& seen, std::int64_t x, std::int64_t n,
                          Confidence confidence) {
    const Interval plain = clopper_pearson(x, n, confidence);
    const double wider = (seen.high - seen.low) / (plain.high - plain.low);
    return std::max(1.0, wider * wider);
}

std::optional<Estimate> share_estimate(std::int64_t x, std::int64_t n, double inflation,
                                       Confidence confidence) {
    if (n == 0)
        return std::nullopt;
    return Estimate{
        .value = static_cast<double>(x) / static_cast<double>(n),
        .interval = clopper_pearson_inflated(x, n, inflation, confidence),
        .confidence = confidence,
        .method = inflation > 1.0
                      ? fmt::format("Clopper-Pearson, variance inflated {:.2f} times", inflation)
                      : "Clopper-Pearson"};
}

} // namespace dropledger::statistics
