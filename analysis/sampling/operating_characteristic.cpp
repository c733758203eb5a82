#include "analysis/sampling/operating_characteristic.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <cmath>

namespace dropledger::batch {

namespace {

using namespace dropledger::statistics;

// Completes a point whose p and acceptance are known.
QualityPoint with_rectification(QualityPoint point, std::int64_t n, std::int64_t lot) {
    const double size = static_cast<double>(lot);
    const double rest = static_cast<double>(lot - n);
    point.outgoing_quality = point.accept_probability * point.p * rest / size;
    point.total_inspection = static_cast<double>(n) + (1.0 - point.accept_probability) * rest;
    return point;
}

} // namespace

QualityPoint quality_point(SampleNumbers plan, double p, std::optional<std::int64_t> lot) {
    const QualityPoint point{.p = p,
                             .accept_probability = binomial_cdf(plan.reject - 1, {plan.n, p}),
                             .outgoing_quality = std::nullopt,
                             .total_inspection = std::nullopt};
    return lot ? with_rectification(point, plan.n, *lot) : point;
}

QualityPoint quality_point_of_lot(SampleNumbers plan, std::int64_t lot,
                                  std::int64_t nonconforming) {
    const QualityPoint point{.p = static_cast<double>(nonconforming) / static_cast<double>(lot),
                             .accept_probability =
                                 hypergeometric_cdf(plan.reject - 1, {lot, nonconforming, plan.n}),
                             .outgoing_quality = std::nullopt,
                             .total_inspection = std::nullopt};
    return with_rectification(point, plan.n, lot);
}

OutgoingLimit outgoing_quality_limit_of_lot(SampleNumbers plan, std::int64_t lot) {
    const auto point = [&](std::int64_t count) { return quality_point_of_lot(plan, lot, count); };
    // A single peak: the first count after which the outgoing share no longer grows.
    std::int64_t low = 0;
    std::int64_t high = lot;
    while (low < high) {
        const std::int64_t middle = low + (high - low) / 2;
        if (*point(middle + 1).outgoing_quality > *point(middle).outgoing_quality)
            low = middle + 1;
        else
            high = middle;
    }
    return {.p = point(low).p, .aoql = *point(low).outgoing_quality};
}

double share_accepted_with(SampleNumbers plan, double probability) {
    if (plan.reject > plan.n)
        return 1.0;
    // P(X <= c) = 1 - B(p; c + 1, n - c) with c = reject - 1
    return beta_quantile(1.0 - probability, {.a = static_cast<double>(plan.reject),
                                             .b = static_cast<double>(plan.n - plan.reject + 1)});
}

} // namespace dropledger::batch
