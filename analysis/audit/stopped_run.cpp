#include "analysis/audit/stopped_run.hpp"

#include "analysis/statistics/shares/row_share.hpp"
#include "analysis/statistics/stopping/monitored_share.hpp"
#include "analysis/verdict/stopped_share.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>
#include <variant>

namespace dropledger::audit {

using statistics::Decision;
using statistics::Estimate;

namespace {

std::vector<SequentialResult*> results_of(AuditReport& report) {
    std::vector<SequentialResult*> results;
    for (ChannelReport& channel : report.channels)
        if (CommandedDrops* const drops = channel.drops())
            for (auto* test : {&drops->miss_test, &drops->multiples_test})
                if (*test)
                    results.push_back(&**test);
    return results;
}

// Wald's rule of older logs names no first drop.
constexpr std::int64_t first_of_wald = 10;

statistics::Monitoring monitoring_of(const verdict::StoppingRule& rule) {
    for (const auto* plan : {&rule.miss, &rule.multiples})
        if (*plan)
            if (const auto* const limit = std::get_if<statistics::LimitPlan>(&**plan))
                return limit->monitoring;
    return {.first = first_of_wald, .most = std::max(first_of_wald, rule.most)};
}

constexpr const char* whenever = ", whenever the run ends";

void widen_to(std::optional<Estimate>& estimate, const std::optional<Estimate>& wide) {
    if (!estimate || !estimate->interval || !wide || !wide->interval)
        return;
    estimate->interval = wide->interval;
    estimate->method += whenever;
}

// The index counts multiples, the ledger's share drops that hold any. Where drops of three and more
// make that differ, the upper limit is scaled by it; a spacing more or less than drops is no reason.
double more_than_drops(const Estimate& index, const Estimate& share) {
    constexpr double clearly = 1.05;
    return share.value > 0.0 && index.value > clearly * share.value ? index.value / share.value
                                                                    : 1.0;
}

// `whole`: the ledger's share over the whole run, that the index is compared with; null for a share.
void join(std::optional<Estimate>& estimate, const std::optional<SequentialResult>& result,
          const Estimate* whole = nullptr) {
    const bool counts =
        result && result->share && (result->ended_run || result->path.limit_plan() != nullptr);
    if (!estimate || !estimate->interval || !counts)
        return;
    const Estimate& share = *result->share;
    const double scale = whole == nullptr ? 1.0 : more_than_drops(*estimate, *whole);
    estimate->interval->low = std::min(estimate->interval->low, share.interval->low);
    estimate->interval->high =
        std::min(1.0, std::max(estimate->interval->high, scale * share.interval->high));
    estimate->method += ", and no narrower than the stop of the run allows (" + share.method + ")";
}

void rest_of_both(const std::optional<Estimate>& first, const std::optional<Estimate>& second,
                  const CommandedDrops& drops, std::optional<Estimate>& rest) {
    if (!first || !second || !rest || (!drops.miss_test && !drops.multiples_test))
        return;
    rest->interval = statistics::rest_of_one(*first, *second, statistics::Sum::in_full).interval;
    rest->method = "what the two others leave" + std::string{whenever};
}

void join_shares(SingleDrops& single) {
    const CommandedDrops& drops = single.drops;
    join(single.shares.miss, drops.miss_test);
    join(single.shares.multiple, drops.multiples_test);
    rest_of_both(single.shares.miss, single.shares.multiple, drops, single.shares.single);
    if (!single.spacing)
        return;
    measures::ThreeShares& iso = single.spacing->iso;
    const auto whole = [](const std::optional<Estimate>& share) {
        return share ? &*share : nullptr;
    };
    join(iso.misses, drops.miss_test, whole(single.shares.miss));
    join(iso.multiples, drops.multiples_test, whole(single.shares.multiple));
    rest_of_both(iso.misses, iso.multiples, drops, iso.quality_of_feed);
}

void join_shares(Results& results) {
    if (auto* const single = std::get_if<SingleDrops>(&results))
        join_shares(*single);
    if (auto* const portions = std::get_if<Portions>(&results)) {
        join(portions->shares.empty, portions->drops.miss_test);
        join(portions->shares.over, portions->drops.multiples_test);
    }
}

const std::optional<SequentialResult>* test_of(const CommandedDrops& drops,
                                               measures::Quantity quantity) {
    using Q = measures::Quantity;
    if (quantity == Q::miss_index || quantity == Q::miss_share || quantity == Q::empty_share)
        return &drops.miss_test;
    if (quantity == Q::multiples_index || quantity == Q::multiple_share ||
        quantity == Q::over_share)
        return &drops.multiples_test;
    return nullptr;
}

bool called_good(const std::optional<SequentialResult>& test) {
    return test && test->path.limit_plan() != nullptr &&
           test->path.decision() == Decision::accept && test->share && test->share->interval;
}

// What the run found of a criterion, by the intervals that hold whenever it ends; nothing where it
// did not test it, or did not call it good.
std::optional<statistics::Interval> found_good(const CommandedDrops& drops,
                                               measures::Quantity quantity) {
    if (quantity == measures::Quantity::quality_of_feed_index) {
        if (!called_good(drops.miss_test) || !called_good(drops.multiples_test))
            return std::nullopt;
        return statistics::rest_of_one(*drops.miss_test->share, *drops.multiples_test->share,
                                       statistics::Sum::in_full)
            .interval;
    }
    const auto* const test = test_of(drops, quantity);
    return test != nullptr && called_good(*test) ? (*test)->share->interval : std::nullopt;
}

bool inside(const statistics::Interval& interval, const verdict::Limit& limit) {
    return limit.sense() == verdict::Sense::at_least ? interval.low >= limit.value
                                                     : interval.high <= limit.value;
}

} // namespace

void keep_what_the_run_found(const AuditReport& report, const ChannelReport& channel,
                             verdict::Criterion& criterion) {
    const CommandedDrops* const drops = channel.drops();
    if (criterion.outcome != verdict::Outcome::undecided || drops == nullptr ||
        !criterion.estimate || channel.counted().count < report.profile.least_drops)
        return;
    const double value = criterion.estimate->value;
    const auto found = found_good(*drops, criterion.limit.quantity);
    if (!found || !inside(*found, criterion.limit) || !inside({value, value}, criterion.limit))
        return;
    criterion.outcome = verdict::Outcome::within;
    criterion.more_drops = 0;
    criterion.reason = "the run stopped itself for it: inside the limit by the interval that holds "
                       "whenever it ends";
}

void allow_for_stop(const measures::SpacingTally& tally, const verdict::StoppingRule& rule,
                    Confidence confidence, measures::SpacingResult& spacing) {
    const Confidence each = statistics::confidence_of_each(monitoring_of(rule), confidence);
    const measures::SpacingResult wide = tally.result(each);
    for (const auto& [index, wide_index] : {std::pair{&spacing.iso.misses, &wide.iso.misses},
                                            std::pair{&spacing.iso.multiples, &wide.iso.multiples}})
        if (*index && (*index)->interval)
            (*index)->interval->low = (*wide_index)->interval->low;
    widen_to(spacing.per_spacing.misses, wide.per_spacing.misses);
    widen_to(spacing.per_spacing.multiples, wide.per_spacing.multiples);
    widen_to(spacing.per_spacing.quality_of_feed, wide.per_spacing.quality_of_feed);
    widen_to(spacing.cp3_about_reference.share, wide.cp3_about_reference.share);
    widen_to(spacing.mean_mm, wide.mean_mm);
    widen_to(spacing.sd_mm, wide.sd_mm);
}

void replay_stop(AuditReport& report) {
    const auto results = results_of(report);
    std::vector<const measures::SequentialPath*> tests;
    tests.reserve(results.size());
    for (const SequentialResult* result : results)
        tests.push_back(&result->path);
    const std::vector<bool> ended = verdict::ended_the_run(tests, report.stopping_rule.least);
    for (std::size_t i = 0; i < results.size(); ++i) {
        results[i]->ended_run = ended[i];
        results[i]->share =
            verdict::stopped_share(results[i]->path, ended[i], report.profile.confidence);
    }
    for (ChannelReport& channel : report.channels)
        join_shares(channel.results);
}

} // namespace dropledger::audit
