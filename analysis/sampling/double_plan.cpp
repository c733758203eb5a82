#include "analysis/sampling/double_plan.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

namespace dropledger::batch {

namespace {

using namespace dropledger::statistics;

// `first(d)`: chance of d nonconforming in the first sample; `second(d)`: chance that the second
// one then accepts.
template <class First, class Second>
DoublePoint point_of(const DoublePlan& plan, const First& first, const Second& second) {
    DoublePoint point;
    double doubtful = 0.0;
    for (std::int64_t d = 0; d < plan.reject1; ++d) {
        const double chance = first(d);
        if (d <= plan.accept1) {
            point.accept_first += chance;
            continue;
        }
        doubtful += chance;
        if (chance > 0.0)
            point.accept_second += chance * second(d);
    }
    point.mean_sample = static_cast<double>(plan.n1) + doubtful * static_cast<double>(plan.n2);
    return point;
}

} // namespace

Result<DoublePlan> checked(const DoublePlan& plan) {
    const bool first = plan.n1 >= 1 && plan.accept1 >= 0 && plan.reject1 > plan.accept1 + 1 &&
                       plan.reject1 <= plan.n1 + 1;
    const bool second =
        plan.n2 >= 1 && plan.accept2 >= plan.accept1 && plan.accept2 < plan.n1 + plan.n2;
    if (!first || !second)
        return usage_error(
            "plan acceptance",
            fmt::format("no double plan: {} with {} and {}, then {} with {}", plan.n1, plan.accept1,
                        plan.reject1, plan.n2, plan.accept2),
            "the first sample rejects at least two above what it accepts, the second accepts at "
            "least as many as the first");
    return plan;
}

DoublePoint double_point(const DoublePlan& plan, double p) {
    DoublePoint point = point_of(
        plan,
        [&](std::int64_t d) {
            return binomial_pmf(d, {plan.n1, p});
        },
        [&](std::int64_t d) {
            return binomial_cdf(plan.accept2 - d, {plan.n2, p});
        });
    point.p = p;
    return point;
}

DoublePoint double_point_of_lot(const DoublePlan& plan, std::int64_t lot,
                                std::int64_t nonconforming) {
    if (lot < plan.n1 + plan.n2 || nonconforming < 0 || nonconforming > lot)
        throw BrokenInvariant("double plan: the samples do not fit into the lot");
    DoublePoint point = point_of(
        plan,
        [&](std::int64_t d) {
            return hypergeometric_pmf(d, {lot, nonconforming, plan.n1});
        },
        [&](std::int64_t d) {
            return hypergeometric_cdf(plan.accept2 - d,
                                      {lot - plan.n1, nonconforming - d, plan.n2});
        });
    point.p = static_cast<double>(nonconforming) / static_cast<double>(lot);
    return point;
}

} // namespace dropledger::batch
