#include "analysis/verdict/judgement.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/shares/more_needed.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::verdict {

using statistics::Estimate;
using statistics::Interval;

namespace {

// The interval of the thing that is limited: of |value| where the magnitude is.
Interval limited_part(const Interval& interval, Sense sense) {
    if (sense != Sense::magnitude_at_most)
        return interval;
    const double low = std::fabs(interval.low);
    const double high = std::fabs(interval.high);
    const bool holds_zero = interval.low <= 0.0 && interval.high >= 0.0;
    return {holds_zero ? 0.0 : std::min(low, high), std::max(low, high)};
}

constexpr std::int64_t most_more_drops = 10'000'000;

Estimate limited_part(Estimate estimate, Sense sense) {
    if (sense == Sense::magnitude_at_most)
        estimate.value = std::fabs(estimate.value);
    estimate.interval = limited_part(*estimate.interval, sense);
    return estimate;
}

// 0 where more drops would not decide it within a season.
std::int64_t more_drops(const Finding& finding, const Limit& limit, Confidence confidence) {
    if (finding.counts) {
        const auto& [x, n, inflation] = *finding.counts;
        const double seen =
            statistics::variance_inflation(*finding.estimate->interval, x, n, confidence);
        return statistics::more_needed({x, n, std::max(inflation, seen)}, Share{limit.value},
                                       confidence, most_more_drops)
            .value_or(0);
    }
    return statistics::more_needed(limited_part(*finding.estimate, limit.sense()),
                                   finding.observations, limit.value, most_more_drops)
        .value_or(0);
}

// What would come out inside the limit must also reach the profile's least number of drops.
std::int64_t at_least_missing(const Finding& finding, const Limit& limit, std::int64_t missing) {
    const double value = finding.estimate->value;
    return by_interval({value, value}, limit) == Outcome::within ? missing : 0;
}

void settle_undecided(Criterion& criterion, const Finding& finding, const Profile& profile,
                      const RunState& run) {
    const std::int64_t more = more_drops(finding, criterion.limit, profile.confidence);
    if (more > 0)
        criterion.more_drops = std::max(
            more, at_least_missing(finding, criterion.limit, profile.least_drops - run.drops));
    criterion.reason = "the interval straddles the limit";
}

// What lies inside its limit by its interval may still not be called within.
void withhold(Criterion& criterion, const Profile& profile, const RunState& run) {
    if (criterion.outcome != Outcome::within)
        return;
    if (!run.complete) {
        criterion.outcome = Outcome::undecided;
        criterion.reason =
            fmt::format("inside the limit, but the run is incomplete: {}", run.why_incomplete);
    } else if (run.drops < profile.least_drops) {
        criterion.outcome = Outcome::undecided;
        criterion.more_drops = profile.least_drops - run.drops;
        criterion.reason = fmt::format("inside the limit, but the profile asks for at least {} {}",
                                       profile.least_drops, run.unit);
    }
}

std::string why_no_interval(const Finding& finding, const RunState& run) {
    if (!finding.why_undefined.empty())
        return finding.why_undefined;
    if (!finding.estimate)
        return fmt::format("not defined: too few {}", run.unit);
    const auto why = finding.estimate->no_interval;
    return why && *why != statistics::NoInterval::few_values
               ? std::string(statistics::words(*why))
               : fmt::format("no interval yet: too few {}", run.unit);
}

bool too_few_events(const Finding& finding, const Profile& profile) {
    return finding.estimate->events && *finding.estimate->events < profile.least_events;
}

} // namespace

Outcome by_interval(const Interval& whole, const Limit& limit) {
    const Interval part = limited_part(whole, limit.sense());
    const bool at_least = limit.sense() == Sense::at_least;
    if (at_least ? part.low >= limit.value : part.high <= limit.value)
        return Outcome::within;
    if (at_least ? part.high < limit.value : part.low > limit.value)
        return Outcome::outside;
    return Outcome::undecided;
}

Outcome worst(const std::vector<Outcome>& outcomes, Outcome if_empty) {
    if (outcomes.empty())
        return if_empty;
    const auto has = [&](Outcome outcome) {
        return std::find(outcomes.begin(), outcomes.end(), outcome) != outcomes.end();
    };
    if (has(Outcome::outside))
        return Outcome::outside;
    return has(Outcome::undecided) ? Outcome::undecided : Outcome::within;
}

Criterion judge(const Limit& limit, const Finding& finding, const Profile& profile,
                const RunState& run) {
    Criterion criterion;
    criterion.limit = limit;
    criterion.estimate = finding.estimate;
    if (!finding.estimate || !finding.estimate->interval) {
        criterion.reason = why_no_interval(finding, run);
        criterion.more_drops = std::max<std::int64_t>(0, profile.least_drops - run.drops);
        return criterion;
    }
    criterion.outcome = by_interval(*finding.estimate->interval, limit);
    criterion.reason = criterion.outcome == Outcome::within
                           ? "the whole interval is inside the limit"
                           : "the whole interval is beyond the limit";
    if (criterion.outcome == Outcome::outside && finding.at_best &&
        by_interval(*finding.at_best, limit) != Outcome::outside) {
        criterion.outcome = Outcome::undecided;
        criterion.reason =
            "beyond the limit, but the lines missing from the log could account for it";
        return criterion;
    }
    if (criterion.outcome == Outcome::outside && too_few_events(finding, profile)) {
        criterion.outcome = Outcome::undecided;
        criterion.reason = fmt::format(
            "beyond the limit, but by {} independent events, and the profile asks for {}",
            *finding.estimate->events, profile.least_events);
        return criterion;
    }
    if (criterion.outcome == Outcome::undecided)
        settle_undecided(criterion, finding, profile, run);
    withhold(criterion, profile, run);
    return criterion;
}

Judgement judgement(std::vector<Criterion> criteria, const RunState& run) {
    Judgement result;
    std::vector<Outcome> outcomes;
    outcomes.reserve(criteria.size());
    for (const Criterion& criterion : criteria)
        outcomes.push_back(criterion.outcome);
    result.outcome = worst(outcomes, Outcome::undecided);
    if (criteria.empty())
        result.reason = "no profile was named: nothing to judge by";
    else if (!run.complete)
        result.reason = fmt::format("the run is incomplete: {}", run.why_incomplete);
    result.criteria = std::move(criteria);
    return result;
}

} // namespace dropledger::verdict
