#include "analysis/statistics/dispersion.hpp"

#include "analysis/statistics/distributions.hpp"

#include <cmath>

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

std::optional<Estimate> dispersion_estimate(CountSums counts, Confidence confidence) {
    const auto found = index_of_dispersion(counts);
    if (!found)
        return std::nullopt;
    const double tail = confidence.each_tail();
    return Estimate{
        .value = found->index,
        .interval =
            Interval{.low = found->chi_squared / chi_squared_quantile(1.0 - tail, found->degrees),
                     .high = found->chi_squared / chi_squared_quantile(tail, found->degrees)},
        .confidence = confidence,
        .method = "variance/mean, chi-square, approximate"};
}

} // namespace dropledger::statistics
