#include "analysis/batch/runs/plan.hpp"

#include "analysis/sampling/double_search.hpp"
#include "analysis/sampling/operating_characteristic.hpp"
#include "analysis/statistics/stopping/fixed_plan.hpp"

#include <fmt/format.h>

#include <cmath>
#include <utility>

namespace dropledger::batch {

Result<BatchPlan> table_plan(const LotRequest& request, std::string severity_reason) {
    const auto numbers = single_plan(request);
    if (!numbers)
        return numbers.error();
    BatchPlan plan;
    plan.request = request;
    plan.severity_reason = std::move(severity_reason);
    plan.numbers = *numbers;
    return plan;
}

Result<BatchPlan> own_plan(std::int64_t lot, std::int64_t n, std::int64_t accept) {
    if (lot < 1 || n < 1 || n > lot || accept < 0 || accept >= n)
        return usage_error(
            "plan",
            fmt::format("{} of {} units with at most {} nonconforming is no plan", n, lot, accept),
            "1 <= n <= lot and 0 <= accept < n");
    BatchPlan plan;
    plan.kind = PlanKind::own;
    plan.request.lot = lot;
    plan.numbers.letter = '-';
    plan.numbers.n = n;
    plan.numbers.accept = accept;
    plan.numbers.reject = accept + 1;
    plan.numbers.whole_lot = n == lot;
    return plan;
}

Result<BatchPlan> two_point_plan(std::int64_t lot, statistics::TwoPoint points) {
    const auto fixed = statistics::fixed_plan_of_lot(points, lot);
    if (!fixed)
        return fixed.error();
    if (fixed->accept >= fixed->n)
        return usage_error("plan", "no sample of this lot keeps both risks and can reject",
                           "widen the two levels");
    auto plan = own_plan(lot, fixed->n, fixed->accept);
    if (!plan)
        return plan;
    plan->kind = PlanKind::two_point;
    plan->points = points;
    return plan;
}

Result<BatchPlan> two_sample_plan(std::int64_t lot, const DoublePlan& samples,
                                  std::optional<statistics::TwoPoint> points) {
    const auto sound = checked(samples);
    if (!sound)
        return sound.error();
    auto plan = own_plan(lot, samples.n1 + samples.n2, samples.accept2);
    if (!plan)
        return plan;
    plan->kind = PlanKind::two_samples;
    plan->samples = samples;
    plan->points = points;
    if (!points)
        return plan;
    if (const auto levels = statistics::checked(*points); !levels)
        return levels.error();
    const auto at = [&](double units) {
        return double_point_of_lot(samples, lot, static_cast<std::int64_t>(units))
            .accept_probability();
    };
    const auto size = static_cast<double>(lot);
    // Of a lot: the whole count next below the good level, next above the bad one.
    if (at(std::floor(points->good * size)) < 1.0 - points->alpha ||
        at(std::ceil(points->bad * size)) > points->beta)
        return usage_error("plan", "these two samples do not keep the two risks",
                           "widen the two levels, or let the program find the samples");
    return plan;
}

Result<BatchPlan> two_sample_plan(std::int64_t lot, statistics::TwoPoint points) {
    const auto found = smallest_double_plan({.points = points, .ratio = 1, .lot = lot});
    if (!found)
        return found.error();
    return two_sample_plan(lot, found->plan, points);
}

Result<BatchPlan> variables_plan_of(std::int64_t lot, const verdict::Limit& limit,
                                    statistics::TwoPoint points) {
    if (limit.sense() == verdict::Sense::magnitude_at_most)
        return usage_error("plan",
                           fmt::format("{} is limited on both sides", key_of(limit.quantity)),
                           "measure a quantity with one limit, at most or at least");
    const auto measured = variables_plan(points);
    if (!measured)
        return measured.error();
    auto plan = own_plan(lot, measured->n, 0);
    if (!plan)
        return usage_error("plan",
                           fmt::format("{} values are needed of {} units", measured->n, lot),
                           "take levels further apart, or a plan by attributes");
    plan->kind = PlanKind::variables;
    plan->points = points;
    plan->measured = Measured{limit, *measured};
    return plan;
}

namespace {

double chance_of_acceptance(const BatchPlan& plan, std::int64_t count) {
    const std::int64_t lot = plan.request.lot;
    if (plan.samples)
        return double_point_of_lot(*plan.samples, lot, count).accept_probability();
    if (!plan.measured)
        return quality_point_of_lot({plan.numbers.n, plan.numbers.reject}, lot, count)
            .accept_probability;
    if (count == 0 || count == lot)
        return count == 0 ? 1.0 : 0.0;
    return accept_probability(plan.measured->plan,
                              static_cast<double>(count) / static_cast<double>(lot));
}

} // namespace

std::vector<RiskPoint> risks_of(const BatchPlan& plan) {
    std::vector<RiskPoint> points;
    const auto lot = static_cast<double>(plan.request.lot);
    for (const double percent : {0.0, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0}) {
        const std::int64_t count = std::llround(percent * lot / 100.0);
        const double share = static_cast<double>(count) / lot;
        if (points.empty() || share > points.back().share)
            points.push_back({share, chance_of_acceptance(plan, count)});
    }
    return points;
}

NamedRisks named_risks_of(const BatchPlan& plan) {
    const std::int64_t lot = plan.request.lot;
    const auto size = static_cast<double>(lot);
    const auto at = [&](std::int64_t count) {
        return RiskPoint{static_cast<double>(count) / size, chance_of_acceptance(plan, count)};
    };
    NamedRisks risks;
    if (plan.points)
        risks.producer = at(static_cast<std::int64_t>(std::floor(plan.points->good * size)));
    else if (plan.kind == PlanKind::table)
        risks.producer = at(static_cast<std::int64_t>(std::floor(plan.request.aql / 100.0 * size)));
    // The smallest count that is accepted with a chance of at most a tenth.
    std::int64_t too_few = 0;
    std::int64_t enough = lot;
    if (chance_of_acceptance(plan, enough) > consumers_chance)
        return risks;
    while (enough - too_few > 1) {
        const std::int64_t middle = too_few + (enough - too_few) / 2;
        (chance_of_acceptance(plan, middle) <= consumers_chance ? enough : too_few) = middle;
    }
    risks.consumer = at(enough);
    return risks;
}

} // namespace dropledger::batch
