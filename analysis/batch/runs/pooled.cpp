#include "analysis/batch/runs/pooled.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::batch {

namespace {

using Runs = std::vector<const TestedRun*>;

bool may_be_pooled(const TestedRun& run) {
    return run.outcome == verdict::Outcome::undecided && run.held_back == HeldBack::no &&
           run.drops > 0 && !run.limits.empty() &&
           std::all_of(run.limits.begin(), run.limits.end(), [](const LimitResult& one) {
               return one.estimate && one.estimate->interval;
           });
}

bool alike(const TestedRun& a, const TestedRun& b) {
    return a.conditions == b.conditions && a.calibrations == b.calibrations &&
           std::equal(a.limits.begin(), a.limits.end(), b.limits.begin(), b.limits.end(),
                      [](const LimitResult& x, const LimitResult& y) {
                          return x.limit == y.limit &&
                                 x.estimate->confidence.level() == y.estimate->confidence.level();
                      });
}

LimitResult together(const Runs& runs, std::size_t limit) {
    double drops = 0.0;
    for (const TestedRun* run : runs)
        drops += static_cast<double>(run->drops);
    double value = 0.0;
    double below = 0.0;
    double above = 0.0;
    for (const TestedRun* run : runs) {
        const double weight = static_cast<double>(run->drops) / drops;
        const statistics::Estimate& one = *run->limits.at(limit).estimate;
        value += weight * one.value;
        below = std::hypot(below, weight * (one.value - one.interval->low));
        above = std::hypot(above, weight * (one.interval->high - one.value));
    }
    const LimitResult& first = runs.front()->limits.at(limit);
    const statistics::Interval interval{value - below, value + above};
    return {first.limit,
            statistics::Estimate{value, interval, first.estimate->confidence,
                                 "runs weighed by drops; half-widths in quadrature"},
            verdict::by_interval(interval, first.limit)};
}

} // namespace

std::optional<PooledRuns> pooled(const std::string& unit, std::span<const TestedRun> runs,
                                 std::int64_t count) {
    Runs taken;
    for (const TestedRun& run : runs)
        if (run.unit == unit && run.counted() && static_cast<std::int64_t>(taken.size()) < count)
            taken.push_back(&run);
    if (taken.empty() || static_cast<std::int64_t>(taken.size()) < count)
        return std::nullopt;
    for (const TestedRun* run : taken)
        if (!may_be_pooled(*run) || !alike(*run, *taken.front()))
            return std::nullopt;
    PooledRuns all;
    all.unit = unit;
    std::vector<verdict::Outcome> outcomes;
    for (std::size_t i = 0; i < taken.front()->limits.size(); ++i) {
        all.limits.push_back(together(taken, i));
        outcomes.push_back(all.limits.back().outcome);
    }
    for (const TestedRun* run : taken)
        all.files.push_back(run->file);
    all.outcome = verdict::worst(outcomes, verdict::Outcome::undecided);
    return all;
}

} // namespace dropledger::batch
