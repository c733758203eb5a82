#include "analysis/audit/stopped_run.hpp"

#include "analysis/measures/number_words.hpp"
#include "analysis/verdict/stopped_share.hpp"

#include <fmt/format.h>

#include <algorithm>

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

} // namespace

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
}

std::optional<Estimate> after_stop(const std::optional<Estimate>& estimate,
                                   const std::optional<SequentialResult>& result) {
    const bool counts =
        result && result->share && (result->ended_run || result->path.limit_plan() != nullptr);
    if (!estimate || !estimate->interval || !counts)
        return estimate;
    Estimate wider = *estimate;
    wider.interval->low = std::min(wider.interval->low, result->share->interval->low);
    wider.interval->high = std::max(wider.interval->high, result->share->interval->high);
    wider.method +=
        ", and no narrower than the stop of the run allows (" + result->share->method + ")";
    return wider;
}

} // namespace dropledger::audit
