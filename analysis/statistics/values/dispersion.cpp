#include "analysis/statistics/values/dispersion.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace dropledger::statistics {

std::optional<Dispersion> index_of_dispersion(CountSums counts) {
    if (counts.n < 2 || counts.sum <= 0)
        return std::nullopt;
    const auto n = static_cast<long double>(counts.n);
    const auto sum = static_cast<long double>(counts.sum);
    const auto centred = static_cast<long double>(counts.sum_squares) - sum * sum / n;
    Dispersion out;
    out.mean = static_cast<double>(sum / n);
    out.degrees = static_cast<double>(counts.n - 1);
    out.variance = static_cast<double>(centred) / out.degrees;
    out.index = out.variance / out.mean;
    out.cv = std::sqrt(out.variance) / out.mean;
    out.chi_squared = out.degrees * out.index;
    out.p_clustered = chi_squared_sf(out.chi_squared, out.degrees);
    out.p_even = chi_squared_cdf(out.chi_squared, out.degrees);
    return out;
}

namespace {

constexpr double clearly_even = 0.005;
constexpr double edges_variance = 0.5; // seeds²

std::optional<Interval> variance_limits(const Dispersion& found, const VarianceFactors& factors) {
    const bool even = found.p_even < clearly_even;
    if (factors.no_interval || (!factors.interval && !even))
        return std::nullopt;
    const Interval times = factors.interval.value_or(Interval{1.0, 1.0});
    const double edges = even ? edges_variance : 0.0;
    return Interval{.low = std::max(0.0, found.variance * times.low - edges),
                    .high = found.variance * times.high + edges};
}

Estimate estimated(double value, const Dispersion& found, const VarianceFactors& factors,
                   Confidence confidence) {
    Estimate out{.value = value,
                 .interval = variance_limits(found, factors),
                 .confidence = confidence,
                 .method = "chi-square with degrees for the kurtosis seen, correlation of "
                           "neighbours integrated out",
                 .no_interval = factors.no_interval};
    if (out.no_interval)
        out.method = std::string{words(*out.no_interval)};
    else if (found.p_even < clearly_even)
        out.method += ", the segments' edges allowed for";
    return out;
}

} // namespace

std::optional<DispersionEstimates> dispersion_estimates(CountSums counts,
                                                        const VarianceFactors& index,
                                                        const VarianceFactors& cv,
                                                        Confidence confidence) {
    const auto found = index_of_dispersion(counts);
    if (!found)
        return std::nullopt;
    DispersionEstimates out{.index = estimated(found->index, *found, index, confidence),
                            .cv = estimated(found->cv, *found, cv, confidence)};
    if (auto& limits = out.index.interval)
        limits = Interval{limits->low / found->mean, limits->high / found->mean};
    if (auto& limits = out.cv.interval)
        limits =
            Interval{std::sqrt(limits->low) / found->mean, std::sqrt(limits->high) / found->mean};
    out.index.method = "variance/mean, " + out.index.method;
    out.cv.method = "coefficient of variation, " + out.cv.method;
    return out;
}

} // namespace dropledger::statistics
