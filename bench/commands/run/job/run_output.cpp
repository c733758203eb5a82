#include "bench/commands/run/job/run_output.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/base/shell_word.hpp"
#include "bench/commands/shell/deliver.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

constexpr int exit_done = 0;
constexpr int exit_incomplete = 2;

std::string in_words(const verdict::StopDecision& decision) {
    const char* const what =
        decision.criterion == verdict::StopCriterion::miss ? "misses" : "multiples";
    const std::string seen = fmt::format("{} in {} drops", decision.hits, decision.drops);
    return fmt::format("channel {}: {} {} ({})", decision.channel, what,
                       decision.is_final() ? verdict::name_of(decision.decision) : "not decided",
                       seen);
}

nlohmann::json decisions_json(const std::vector<verdict::StopDecision>& decisions) {
    nlohmann::json list = nlohmann::json::array();
    for (const verdict::StopDecision& each : decisions)
        list.push_back({{"channel", each.channel},
                        {"criterion", verdict::name_of(each.criterion)},
                        {"decision", verdict::name_of(each.decision)},
                        {"drops", each.drops},
                        {"hits", each.hits}});
    return list;
}

nlohmann::json channels_json(const recorder::LiveTally& tally) {
    nlohmann::json channels = nlohmann::json::array();
    for (const auto& [channel, counts] : tally.channels())
        channels.push_back({{"channel", channel},
                            {"drops", counts.drops},
                            {"miss", counts.miss},
                            {"short", counts.short_of},
                            {"exact", counts.exact},
                            {"over", counts.over},
                            {"pulses", counts.pulses}});
    return channels;
}

nlohmann::json json_of(const RunOutcome& outcome) {
    const recorder::RunSummary& summary = outcome.summary;
    nlohmann::json object{{"schema", "dropledger/run/1"},
                          {"log", summary.log},
                          {"end_reason", summary.end_reason},
                          {"as_planned", summary.as_planned},
                          {"left_open", summary.left_open},
                          {"provisional", true},
                          {"channels", channels_json(summary.tally)},
                          {"decisions", decisions_json(outcome.decisions)},
                          {"lines",
                           {{"taken", summary.counts.taken},
                            {"damaged", summary.counts.damaged},
                            {"repeated", summary.counts.repeated},
                            {"conflicting", summary.counts.conflicting},
                            {"lost", summary.counts.lost},
                            {"resends", summary.counts.resends},
                            {"given_up", summary.conceded}}}};
    if (outcome.is_new)
        object["calibration"] = or_null(outcome.calibration);
    return object;
}

std::string text_of(const RunOutcome& outcome) {
    const recorder::RunSummary& summary = outcome.summary;
    TextPage page;
    for (const verdict::StopDecision& each : outcome.decisions)
        page.add("{}\n", in_words(each));
    if (!summary.as_planned)
        page.add("The run did not go as planned; it ended: {}\n", summary.end_reason);
    for (const auto& [channel, drops] : summary.remainder)
        page.add("channel {}: {} drops were not made\n", channel, drops);
    if (summary.counts.conflicting > 0)
        page.add("{} lines came again as other lines: what the controller says contradicts "
                 "itself, this run cannot pass\n",
                 summary.counts.conflicting);
    if (summary.counts.damaged > 0)
        page.add("{} damaged lines came over the wire and were asked for again; check the cable\n",
                 summary.counts.damaged);
    if (summary.conceded > 0)
        page.add("{} lines are lost for good: this run is incomplete and cannot pass\n",
                 summary.conceded);
    if (summary.left_open)
        page.add("The log is open. Make the drops that are left with: dropledger run --port {} "
                 "--resume {}\n",
                 shell_word(outcome.port), shell_word(summary.log));
    else if (!summary.as_planned && !summary.remainder.empty() && summary.conceded == 0)
        page.add(
            "Drops that are left can be made into another log; `dropledger audit {} REST --as-one` "
            "judges both as one run.\n",
            shell_word(summary.log));
    page.add("log: {}\naudit it with: dropledger audit {}\n", summary.log, shell_word(summary.log));
    return page.text();
}

} // namespace

std::optional<std::string> calibration_in(const recorder::RunPlan& plan) {
    for (const recorder::Setting& one : plan.settings)
        if (one.key == "calibration")
            return one.value;
    return std::nullopt;
}

Result<int> deliver_run(const RunOutcome& outcome, bool json) {
    const int status = outcome.summary.as_planned ? exit_done : exit_incomplete;
    return json ? deliver_json(json_of(outcome), status) : deliver_text(text_of(outcome), status);
}

} // namespace dropledger::cli
