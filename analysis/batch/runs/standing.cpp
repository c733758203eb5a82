#include "analysis/batch/runs/standing.hpp"

#include <algorithm>
#include <set>

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

} // namespace

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

} // namespace dropledger::batch
