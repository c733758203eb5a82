#include "analysis/batch/runs/plan.hpp"

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
    return BatchPlan{PlanKind::table, request, std::move(severity_reason), std::nullopt, *numbers};
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
    plan.numbers = {
        .letter = '-', .n = n, .accept = accept, .reject = accept + 1, .whole_lot = n == lot};
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

std::vector<RiskPoint> risks_of(const AttributePlan& plan, std::int64_t lot) {
    std::vector<RiskPoint> points;
    for (const double percent : {0.0, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0}) {
        const std::int64_t count = std::llround(percent * static_cast<double>(lot) / 100.0);
        const QualityPoint point = quality_point_of_lot({plan.n, plan.reject}, lot, count);
        if (points.empty() || point.p > points.back().share)
            points.push_back({point.p, point.accept_probability});
    }
    return points;
}

} // namespace dropledger::batch
