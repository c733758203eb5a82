#include "analysis/batch/batch.hpp"

#include "analysis/batch/units.hpp"
#include "analysis/sampling/operating_characteristic.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/stopping/fixed_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

namespace dropledger::batch {

namespace {

enum class UnitStanding : std::uint8_t { untested, undecided, conforming, nonconforming };

UnitStanding standing_of(const std::string& unit, std::span<const TestedRun> runs) {
    UnitStanding found = UnitStanding::untested;
    for (const TestedRun& run : runs) {
        if (run.unit != unit || !run.counted())
            continue;
        if (run.outcome == verdict::Outcome::outside)
            return UnitStanding::nonconforming;
        if (run.outcome == verdict::Outcome::within)
            found = UnitStanding::conforming;
        else if (found == UnitStanding::untested)
            found = UnitStanding::undecided;
    }
    return found;
}

std::vector<std::string> units_of(std::span<const TestedRun> runs) {
    std::set<std::string> units;
    for (const TestedRun& run : runs)
        units.insert(run.unit);
    return {units.begin(), units.end()};
}

// Misses and drops of each unit, all its counted runs together.
std::vector<statistics::Group> counts_by_unit(std::span<const TestedRun> runs) {
    std::map<std::string, statistics::Group> by_unit;
    for (const TestedRun& run : runs) {
        if (!run.counted() || run.drops == 0)
            continue;
        statistics::Group& unit = by_unit[run.unit];
        unit.x += run.misses;
        unit.n += run.drops;
    }
    std::vector<statistics::Group> units;
    units.reserve(by_unit.size());
    for (const auto& [name, counts] : by_unit)
        units.push_back(counts);
    return units;
}

} // namespace

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

Standing standing(std::span<const std::string> chosen, std::span<const TestedRun> runs) {
    Standing all;
    for (const std::string& unit : chosen) {
        switch (standing_of(unit, runs)) {
        case UnitStanding::untested:
            all.untested.push_back(unit);
            break;
        case UnitStanding::undecided:
            all.undecided.push_back(unit);
            break;
        case UnitStanding::conforming:
            all.conforming.push_back(unit);
            break;
        case UnitStanding::nonconforming:
            all.nonconforming.push_back(unit);
            break;
        }
    }
    return all;
}

TakenOutTally taken_out(std::span<const TestedRun> runs, std::int64_t n) {
    TakenOutTally tally;
    tally.bound = std::max<std::int64_t>(1, n / 20);
    std::set<std::string> units;
    for (const TestedRun& run : runs) {
        if (!run.taken_out)
            continue;
        ++tally.runs;
        if (run.outcome != verdict::Outcome::outside)
            continue;
        ++tally.outside;
        units.insert(run.unit);
    }
    tally.units_outside = static_cast<std::int64_t>(units.size());
    return tally;
}

std::optional<LotOutcome> decision_of(const AttributePlan& plan, const Standing& standing,
                                      const TakenOutTally& taken_out) {
    if (taken_out.beyond())
        return LotOutcome::not_accepted;
    const auto found = static_cast<std::int64_t>(standing.nonconforming.size());
    const bool whole = standing.untested.empty() && standing.undecided.empty();
    if (!whole && found < plan.reject)
        return std::nullopt;
    return judge(plan, found);
}

CertifiedStatistics statistics_of(std::span<const TestedRun> runs, std::optional<double> limit,
                                  Confidence confidence) {
    CertifiedStatistics result;
    result.limit = limit;
    const std::vector<statistics::Group> units = counts_by_unit(runs);
    for (const statistics::Group& unit : units) {
        result.misses += unit.x;
        result.drops += unit.n;
    }
    result.units = static_cast<std::int64_t>(units.size());
    const Standing found = standing(units_of(runs), runs);
    const auto bad = static_cast<std::int64_t>(found.nonconforming.size());
    result.nonconforming_share = statistics::share_estimate(
        bad, bad + static_cast<std::int64_t>(found.conforming.size()), 1.0, confidence);
    if (units.empty())
        return result;
    const bool can_be_exceeded = limit && *limit > 0.0 && *limit < 1.0;
    const UnitsResult compared =
        compare_units(units, Share{can_be_exceeded ? *limit : 0.5}, confidence);
    result.pooled_miss = compared.pooled;
    if (can_be_exceeded)
        result.share_outside = compared.share_outside;
    if (compared.tarone)
        result.tarone_p = compared.tarone->p;
    return result;
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
