#include "analysis/audit/stopped_run.hpp"

#include "analysis/statistics/shares/row_share.hpp"
#include "analysis/statistics/stopping/monitored_share.hpp"
#include "analysis/verdict/stopped_share.hpp"

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

// The index counts multiples, the ledger's share drops that hold any: the limit is scaled by that.
void join(std::optional<Estimate>& estimate, const std::optional<SequentialResult>& result) {
    const bool counts =
        result && result->share && (result->ended_run || result->path.limit_plan() != nullptr);
    if (!estimate || !estimate->interval || !counts)
        return;
    const Estimate& share = *result->share;
    const double scale = share.value > 0.0 ? std::max(1.0, estimate->value / share.value) : 1.0;
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
    join(iso.misses, drops.miss_test);
    join(iso.multiples, drops.multiples_test);
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

} // namespace

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
