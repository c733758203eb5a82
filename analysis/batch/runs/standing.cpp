#include "analysis/batch/runs/standing.hpp"

#include "analysis/statistics/basics/moments.hpp"
#include "analysis/statistics/basics/normality.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace dropledger::batch {

namespace {

enum class UnitStanding : std::uint8_t { untested, undecided, conforming, nonconforming };

UnitStanding standing_of(const std::string& unit, const Tested& tested) {
    UnitStanding found = UnitStanding::untested;
    for (const TestedRun& run : tested.runs) {
        if (run.unit != unit || !run.counted())
            continue;
        if (run.outcome == verdict::Outcome::outside)
            return UnitStanding::nonconforming;
        if (run.outcome == verdict::Outcome::within)
            found = UnitStanding::conforming;
        else if (found == UnitStanding::untested)
            found = UnitStanding::undecided;
    }
    if (!tested.pooled_runs || found == UnitStanding::untested)
        return found;
    const auto together = pooled(unit, tested.runs, *tested.pooled_runs);
    if (together && together->outcome == verdict::Outcome::outside)
        return UnitStanding::nonconforming;
    if (together && together->outcome == verdict::Outcome::within)
        return UnitStanding::conforming;
    return found;
}

} // namespace

Standing standing(const Tested& tested) {
    Standing all;
    for (const std::string& unit : tested.chosen) {
        switch (standing_of(unit, tested)) {
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

Tested first_sample(const BatchPlan& plan, const Tested& tested) {
    Tested first = tested;
    if (plan.samples)
        first.chosen = tested.chosen.first(
            std::min(tested.chosen.size(), static_cast<std::size_t>(plan.samples->n1)));
    return first;
}

bool in_doubt(const BatchPlan& plan, const Tested& tested) {
    if (!plan.samples)
        return false;
    const Standing first = standing(first_sample(plan, tested));
    const auto found = static_cast<std::int64_t>(first.nonconforming.size());
    return first.whole() && found > plan.samples->accept1 && found < plan.samples->reject1;
}

namespace {

std::optional<LotOutcome> by_attributes(const AttributePlan& plan, const Standing& found) {
    const auto count = static_cast<std::int64_t>(found.nonconforming.size());
    if (!found.whole() && count < plan.reject)
        return std::nullopt;
    return judge(plan, count);
}

std::optional<LotOutcome> by_two_samples(const BatchPlan& plan, const Tested& tested) {
    const DoublePlan& samples = *plan.samples;
    const Tested of_first = first_sample(plan, tested);
    Tested of_second = tested;
    of_second.chosen = tested.chosen.subspan(of_first.chosen.size());
    const Standing first = standing(of_first);
    const Standing second = standing(of_second);
    const auto in_first = static_cast<std::int64_t>(first.nonconforming.size());
    if (in_first >= samples.reject1)
        return LotOutcome::not_accepted;
    const bool begun = second.untested.size() < of_second.chosen.size();
    if (!begun && first.whole() && in_first <= samples.accept1)
        return LotOutcome::accepted;
    if (in_first + static_cast<std::int64_t>(second.nonconforming.size()) > samples.accept2)
        return LotOutcome::not_accepted;
    return first.whole() && second.whole() ? std::optional{LotOutcome::accepted} : std::nullopt;
}

std::optional<double> value_of(const std::string& unit, const Tested& tested,
                               const verdict::Limit& limit) {
    double drops = 0.0;
    double sum = 0.0;
    for (const TestedRun& run : tested.runs) {
        if (run.unit != unit || !run.counted() || run.held_back != HeldBack::no)
            continue;
        for (const LimitResult& one : run.limits)
            if (one.limit == limit && one.estimate) {
                drops += static_cast<double>(run.drops);
                sum += static_cast<double>(run.drops) * one.estimate->value;
            }
    }
    return drops > 0.0 ? std::optional{sum / drops} : std::nullopt;
}

bool is_outside_by_another(const std::string& unit, const Tested& tested,
                           const verdict::Limit& limit) {
    for (const TestedRun& run : tested.runs)
        if (run.unit == unit && run.counted())
            for (const LimitResult& one : run.limits)
                if (one.outcome == verdict::Outcome::outside && !(one.limit == limit))
                    return true;
    return false;
}

} // namespace

std::optional<MeasuredSample> measured_sample(const BatchPlan& plan, const Tested& tested) {
    const Measured& measured = plan.measured.value();
    MeasuredSample sample;
    std::vector<double> values;
    for (const std::string& unit : tested.chosen) {
        const auto value = value_of(unit, tested, measured.limit);
        if (!value)
            return std::nullopt;
        values.push_back(*value);
        sample.units.push_back({unit, *value});
        if (is_outside_by_another(unit, tested, measured.limit))
            sample.outside_others.push_back(unit);
    }
    sample.mean = statistics::mean(values).value_or(0.0);
    sample.sd = std::sqrt(statistics::sample_variance(values).value_or(0.0));
    const bool at_least = measured.limit.sense() == verdict::Sense::at_least;
    sample.criterion = sample.mean + (at_least ? -1.0 : 1.0) * measured.plan.k * sample.sd;
    if (const auto normality = statistics::anderson_darling(values))
        sample.normality_p = normality->p;
    const bool keeps = at_least ? sample.criterion >= measured.limit.value
                                : sample.criterion <= measured.limit.value;
    constexpr double refuted = 0.05;
    sample.accepted =
        keeps && sample.outside_others.empty() && sample.normality_p.value_or(1.0) >= refuted;
    return sample;
}

std::optional<LotOutcome> decision_of(const BatchPlan& plan, const Tested& tested) {
    if (taken_out(tested.runs, plan.numbers.n).beyond())
        return LotOutcome::not_accepted;
    if (plan.samples)
        return by_two_samples(plan, tested);
    if (!plan.measured)
        return by_attributes(plan.numbers, standing(tested));
    const auto sample = measured_sample(plan, tested);
    if (!sample)
        return std::nullopt;
    return sample->accepted ? LotOutcome::accepted : LotOutcome::not_accepted;
}

} // namespace dropledger::batch
