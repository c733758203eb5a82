#include "analysis/batch/runs/statistics.hpp"

#include "analysis/batch/runs/standing.hpp"
#include "analysis/batch/runs/units.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <map>
#include <set>
#include <string>
#include <vector>

namespace dropledger::batch {

namespace {

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

BatchStatistics statistics_of(std::span<const TestedRun> runs, std::optional<double> limit,
                              Confidence confidence, std::optional<std::int64_t> pooled_runs) {
    BatchStatistics result;
    result.limit = limit;
    const std::vector<statistics::Group> units = counts_by_unit(runs);
    for (const statistics::Group& unit : units) {
        result.misses += unit.x;
        result.drops += unit.n;
    }
    result.units = static_cast<std::int64_t>(units.size());
    const std::vector<std::string> tested = units_of(runs);
    const Standing found = standing({tested, runs, pooled_runs});
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

} // namespace dropledger::batch
