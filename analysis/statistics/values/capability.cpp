#include "analysis/statistics/values/capability.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

std::optional<Capability> capability(const Moments& values, Specification limits,
                                     Confidence confidence) {
    const auto sd = values.sample_sd();
    if (!sd || *sd <= 0.0 || (!limits.lower && !limits.upper))
        return std::nullopt;
    const double degrees = static_cast<double>(values.count() - 1);
    Capability out;
    if (limits.lower)
        out.cpl = (*values.mean() - *limits.lower) / (3.0 * *sd);
    if (limits.upper)
        out.cpu = (*limits.upper - *values.mean()) / (3.0 * *sd);
    if (limits.lower && limits.upper) {
        const double cp = (*limits.upper - *limits.lower) / (6.0 * *sd);
        const double tail = confidence.each_tail();
        const auto scaled = [&](double p) {
            return cp * std::sqrt(chi_squared_quantile(p, degrees) / degrees);
        };
        out.cp = Estimate{.value = cp,
                          .interval = Interval{.low = scaled(tail), .high = scaled(1.0 - tail)},
                          .confidence = confidence,
                          .method = "Cp, chi-square"};
    }
    const double cpk = !out.cpl ? *out.cpu : !out.cpu ? *out.cpl : std::min(*out.cpl, *out.cpu);
    const double half = normal_quantile(1.0 - confidence.each_tail()) *
                        std::sqrt(1.0 / (9.0 * (degrees + 1.0)) + cpk * cpk / (2.0 * degrees));
    out.cpk = {.value = cpk,
               .interval = Interval{.low = cpk - half, .high = cpk + half},
               .confidence = confidence,
               .method = "Cpk, Bissell"};
    return out;
}

} // namespace dropledger::statistics
