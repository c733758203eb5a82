// Notation of the sources: K = first, n = second, k = both.
#include "analysis/statistics/capture_recapture.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/distributions.hpp"
#include "analysis/statistics/proportion.hpp"

#include <cmath>

namespace dropledger::statistics {

namespace {

struct Counts {
    double first = 0.0;
    double second = 0.0;
    double both = 0.0;
};

double chapman_variance(Counts c) {
    return (c.first + 1.0) * (c.second + 1.0) * (c.first - c.both) * (c.second - c.both) /
           ((c.both + 1.0) * (c.both + 1.0) * (c.both + 2.0));
}

Interval sadinle(Counts c, double z) {
    const double only_first = c.first - c.both + 0.5;
    const double only_second = c.second - c.both + 0.5;
    const double both = c.both + 0.5;
    const double sigma = std::sqrt(1.0 / both + 1.0 / only_first + 1.0 / only_second +
                                   both / (only_first * only_second));
    const double unseen = only_first * only_second / both;
    const double seen = c.first + c.second - c.both - 0.5;
    return {.low = seen + unseen * std::exp(-z * sigma),
            .high = seen + unseen * std::exp(z * sigma)};
}

} // namespace

std::optional<Recapture> recapture(TwoObservers seen, Confidence confidence) {
    if (seen.both < 0 || seen.both > seen.first || seen.both > seen.second)
        throw BrokenInvariant("recapture: more matched pairs than seeds seen");
    if (seen.first + seen.second == 0)
        return std::nullopt;
    const Counts c{.first = static_cast<double>(seen.first),
                   .second = static_cast<double>(seen.second),
                   .both = static_cast<double>(seen.both)};
    const double z = normal_quantile(1.0 - confidence.each_tail());
    Recapture out;
    out.seeds = {.value = (c.first + 1.0) * (c.second + 1.0) / (c.both + 1.0) - 1.0,
                 .interval = sadinle(c, z),
                 .confidence = confidence,
                 .method = "Chapman, limits by Sadinle"};
    out.standard_error = std::sqrt(chapman_variance(c));
    out.normal_limits = {.low = out.seeds.value - z * out.standard_error,
                         .high = out.seeds.value + z * out.standard_error};
    if (seen.both > 0)
        out.petersen = c.first * c.second / c.both;
    out.first_efficiency = share_estimate(seen.both, seen.second, 1.0, confidence);
    out.second_efficiency = share_estimate(seen.both, seen.first, 1.0, confidence);
    return out;
}

} // namespace dropledger::statistics
