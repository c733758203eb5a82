#include "analysis/statistics/basics/normality.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/moments.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace dropledger::statistics {

namespace {

// `a`: the statistic, adjusted for the size of the sample.
double p_value(double a) {
    if (a >= 0.6)
        return std::exp(1.2937 - 5.709 * a + 0.0186 * a * a);
    if (a >= 0.34)
        return std::exp(0.9177 - 4.279 * a - 1.38 * a * a);
    if (a >= 0.2)
        return 1.0 - std::exp(-8.318 + 42.796 * a - 59.938 * a * a);
    return 1.0 - std::exp(-13.436 + 101.14 * a - 223.73 * a * a);
}

} // namespace

std::optional<AndersonDarling> anderson_darling(std::span<const double> values) {
    const auto sd = sample_sd(values);
    if (values.size() < 8 || *sd <= 0.0)
        return std::nullopt;
    const double centre = *mean(values);
    std::vector<double> sorted(values.begin(), values.end());
    std::sort(sorted.begin(), sorted.end());
    const double n = static_cast<double>(values.size());
    double sum = 0.0;
    for (std::size_t i = 0; i < sorted.size(); ++i) {
        const double low = normal_cdf((sorted[i] - centre) / *sd);
        const double high = normal_sf((sorted[sorted.size() - 1 - i] - centre) / *sd);
        sum += (2.0 * static_cast<double>(i) + 1.0) *
               (std::log(std::max(low, 1e-300)) + std::log(std::max(high, 1e-300)));
    }
    const double a_squared = -n - sum / n;
    // Beyond this the fitted curve of the p-value turns up again.
    const double adjusted = std::min(150.0, a_squared * (1.0 + 0.75 / n + 2.25 / (n * n)));
    return AndersonDarling{.a_squared = a_squared, .p = std::clamp(p_value(adjusted), 0.0, 1.0)};
}

} // namespace dropledger::statistics
