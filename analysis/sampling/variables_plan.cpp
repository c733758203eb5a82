#include "analysis/sampling/variables_plan.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::batch {

namespace {

using namespace dropledger::statistics;

constexpr std::int64_t most_values = 1'000'000;
constexpr double most_planned = 10'000.0;

NoncentralT law_of(std::int64_t n, double share) {
    const double size = static_cast<double>(n);
    return {.degrees = size - 1.0, .delta = -normal_quantile(share) * std::sqrt(size)};
}

// k must be at least what protects the consumer, and at most what the producer's risk allows.
struct Bounds {
    double least = 0.0;
    double most = 0.0;
};

Bounds bounds_of(std::int64_t n, const TwoPoint& points) {
    const double root = std::sqrt(static_cast<double>(n));
    return {.least = noncentral_t_quantile(1.0 - points.beta, law_of(n, points.bad)) / root,
            .most = noncentral_t_quantile(points.alpha, law_of(n, points.good)) / root};
}

// Large-sample size, after which the exact one is looked for.
double rough_size(const TwoPoint& points) {
    const double z_alpha = -normal_quantile(points.alpha);
    const double z_beta = -normal_quantile(points.beta);
    const double z_good = -normal_quantile(points.good);
    const double z_bad = -normal_quantile(points.bad);
    const double k = (z_alpha * z_bad + z_beta * z_good) / (z_alpha + z_beta);
    const double root = (z_alpha + z_beta) / (z_good - z_bad);
    return (1.0 + k * k / 2.0) * root * root;
}

} // namespace

Result<ToleranceFactors> tolerance_factors(const ToleranceRequest& request) {
    const double content = request.content.value();
    if (request.n < 2 || request.n > most_values)
        return usage_error("n", fmt::format("{} values", request.n),
                           "a spread needs from two to a million");
    if (content <= 0.0 || content >= 1.0)
        return usage_error("content", fmt::format("{}", content),
                           "give a share between 0 and 1: 0.95");
    return ToleranceFactors{.request = request,
                            .two_sided = two_sided_factor(request),
                            .two_sided_howe = two_sided_factor_howe(request),
                            .one_sided = one_sided_factor(request),
                            .one_sided_nist = one_sided_factor_nist(request),
                            .ranks = tolerance_ranks(request),
                            .rank_one_sided = tolerance_rank_one_sided(request),
                            .needed = values_needed(request.content, request.confidence)};
}

Result<VariablesPlan> variables_plan(const TwoPoint& points) {
    const auto sound = checked(points);
    if (!sound)
        return sound.error();
    const auto keeps = [&](std::int64_t n) {
        const Bounds k = bounds_of(n, points);
        return k.least <= k.most;
    };
    const double rough = rough_size(points);
    if (!(rough < most_planned))
        return usage_error("plan variables",
                           fmt::format("some {:.3g} values would be needed", rough),
                           "take levels further apart, or larger risks");
    // Both bounds close in on each other as n grows: halving between too few and enough.
    std::int64_t too_few = 1;
    std::int64_t enough = 2;
    while (!keeps(enough)) {
        too_few = enough;
        enough *= 2;
    }
    while (enough - too_few > 1) {
        const std::int64_t middle = too_few + (enough - too_few) / 2;
        (keeps(middle) ? enough : too_few) = middle;
    }
    const Bounds k = bounds_of(enough, points);
    return VariablesPlan{.n = enough, .k = (k.least + k.most) / 2.0};
}

double accept_probability(const VariablesPlan& plan, double share) {
    const double t = plan.k * std::sqrt(static_cast<double>(plan.n));
    return 1.0 - noncentral_t_cdf(t, law_of(plan.n, share));
}

} // namespace dropledger::batch
