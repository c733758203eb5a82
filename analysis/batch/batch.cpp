#include "analysis/batch/batch.hpp"

#include "analysis/base/utf8.hpp"
#include "analysis/batch/choice.hpp"
#include "analysis/batch/units.hpp"
#include "analysis/sampling/operating_characteristic.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/stopping/fixed_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <utility>

namespace dropledger::batch {

namespace {

bool holds(const std::vector<std::string>& list, const std::string& item) {
    return std::find(list.begin(), list.end(), item) != list.end();
}

enum class UnitStanding : std::uint8_t { untested, undecided, conforming, nonconforming };

UnitStanding standing_of(const std::string& unit, std::span<const TestedRun> runs) {
    UnitStanding found = UnitStanding::untested;
    for (const TestedRun& run : runs) {
        if (run.unit != unit || !run.counted)
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

Status check_serials(const std::vector<std::string>& serials) {
    std::set<std::string> seen;
    for (const std::string& serial : serials) {
        if (serial.empty())
            return usage_error("serials", "one of them is empty", "give every unit a serial");
        if (!is_utf8(serial))
            return usage_error("serials", "one of them is not UTF-8 text",
                               "save the list as UTF-8");
        if (!seen.insert(serial).second)
            return usage_error("serials", fmt::format("'{}' is there twice", serial),
                               "every unit needs a serial of its own");
    }
    return Done{};
}

Status check_not_decided(const Batch& batch) {
    if (batch.decision)
        return usage_error(fmt::format("batch {}", batch.id),
                           fmt::format("it is decided: {}", word_of(batch.decision->outcome)),
                           "runs after the decision belong to a new batch");
    return Done{};
}

// A log that is in the batch already, in any disguise.
Status check_new_log(const Batch& batch, const TestedRun& run) {
    for (const TestedRun& known : batch.runs) {
        if (known.sha256 == run.sha256)
            return usage_error(run.file,
                               fmt::format("this log is in the batch already, as {}", known.file),
                               "add each log once");
        if (known.run == run.run)
            return usage_error(
                run.file,
                fmt::format("its run {} is in the batch already, as {}", run.run, known.file),
                "add each run once");
        if (known.file == run.file)
            return usage_error(run.file, "another log of this name is in the batch",
                               "name logs differently: a certificate finds them by name");
    }
    return Done{};
}

// The reason that is written beside the run.
Result<std::string> reason_of_another(const Batch& batch, const TestedRun& run,
                                      const std::string& reason) {
    switch (standing_of(run.unit, batch.runs)) {
    case UnitStanding::untested:
        return reason;
    case UnitStanding::undecided:
        return reason.empty() ? std::string{"the runs before were undecided"} : reason;
    case UnitStanding::conforming:
    case UnitStanding::nonconforming:
        break;
    }
    if (reason.empty())
        return usage_error(run.file, fmt::format("unit {} has been tested already", run.unit),
                           "say why it is tested again with `reason`; both runs count");
    return reason;
}

Status check_run(const Batch& batch, const TestedRun& run) {
    if (run.unit.empty())
        return usage_error(run.file,
                           fmt::format("channel {} does not say which unit it was", run.channel),
                           "name the unit when you record");
    if (holds(batch.chosen, run.unit))
        return Done{};
    const bool known = holds(batch.serials, run.unit);
    return usage_error(run.file,
                       fmt::format("unit {} {}", run.unit,
                                   known ? "was not chosen for the test" : "is not of this batch"),
                       "test the units that the random choice named: `batch show`");
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
        if (!run.counted || run.drops == 0)
            continue;
        statistics::Group& unit = by_unit[run.unit];
        unit.x += run.misses;
        unit.n += run.drops;
    }
    std::vector<statistics::Group> units;
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

Result<Batch> open_batch(OpenRequest request) {
    if (const Status checked = check_serials(request.serials); !checked)
        return checked.error();
    const auto count = static_cast<std::int64_t>(request.serials.size());
    if (count != request.plan.request.lot)
        return usage_error(
            "serials",
            fmt::format("there are {}, the lot has {} units", count, request.plan.request.lot),
            "the random choice needs the serial of every unit of the batch");
    Batch batch;
    batch.id = std::move(request.id);
    batch.opened = std::move(request.opened);
    batch.serials = std::move(request.serials);
    batch.profile = std::move(request.profile);
    batch.plan = std::move(request.plan);
    batch.seed = request.seed;
    batch.chosen = chosen_units(batch.serials, batch.plan.numbers.n, batch.seed);
    return batch;
}

Status add_runs(Batch& batch, std::vector<TestedRun> runs, const std::string& reason) {
    if (const Status open = check_not_decided(batch); !open)
        return open;
    for (TestedRun& run : runs) {
        if (const Status fresh = check_new_log(batch, run); !fresh)
            return fresh;
        if (const Status fits = check_run(batch, run); !fits)
            return fits;
        auto why = reason_of_another(batch, run, reason);
        if (!why)
            return why.error();
        run.reason = *std::move(why);
        run.counted = true;
    }
    batch.runs.insert(batch.runs.end(), runs.begin(), runs.end());
    return Done{};
}

Status add_calibration(Batch& batch, const UsedCalibration& calibration) {
    for (const UsedCalibration& known : batch.calibrations) {
        if (known.sha256 == calibration.sha256 && known.id == calibration.id)
            return Done{};
        if (known.id == calibration.id || known.file == calibration.file)
            return usage_error(
                calibration.file,
                fmt::format("the batch knows another calibration of this {}",
                            known.id == calibration.id ? "id" : "file name"),
                "give each record an id and a name of its own, and do not change one in use");
    }
    batch.calibrations.push_back(calibration);
    return Done{};
}

Status make_void(Batch& batch, const VoidRequest& request) {
    if (const Status open = check_not_decided(batch); !open)
        return open;
    if (request.reason.empty())
        return usage_error("reason", "a run is not taken out of the count without one",
                           "say what the bench did wrong");
    bool found = false;
    for (TestedRun& run : batch.runs) {
        if ((run.run != request.run && run.file != request.run) ||
            (request.unit && run.unit != *request.unit))
            continue;
        found = true;
        if (!run.counted)
            return usage_error(run.run, "it is void already", "");
        run.counted = false;
        run.reason += (run.reason.empty() ? "void: " : "; void: ") + request.reason;
    }
    if (!found)
        return usage_error(request.run, "the batch has no such run", "`batch show` lists them");
    return Done{};
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

std::optional<LotOutcome> decision_of(const AttributePlan& plan, const Standing& standing) {
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
        const auto count =
            static_cast<std::int64_t>(percent * static_cast<double>(lot) / 100.0 + 0.5);
        const QualityPoint point = quality_point_of_lot({plan.n, plan.reject}, lot, count);
        if (points.empty() || point.p > points.back().share)
            points.push_back({point.p, point.accept_probability});
    }
    return points;
}

} // namespace dropledger::batch
