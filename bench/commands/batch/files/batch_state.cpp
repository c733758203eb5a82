#include "bench/commands/batch/files/batch_state.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/batch/runs/json_parts.hpp"
#include "analysis/batch/runs/statistics.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/estimate_words.hpp"
#include "bench/evidence/certificate/known_profile.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

namespace dropledger::cli {

using Json = nlohmann::ordered_json;
using batch::LotOutcome;

namespace {

struct BatchState {
    batch::Batch batch;
    batch::Standing standing;
    batch::BatchStatistics statistics;
    std::vector<std::string> notes;
};

// Nothing more needs testing: plan and runs decide.
bool can_be_decided(const batch::Batch& batch) {
    return !batch.decision && !batch.chosen_at.empty() &&
           batch::decision_of(batch.plan, batch.tested()).has_value();
}

std::string decision_words(const batch::Batch& batch) {
    if (batch.decision) {
        switch (batch.decision->outcome) {
        case LotOutcome::accepted:
            return fmt::format("ACCEPTED, {}", batch.decision->decided);
        case LotOutcome::accepted_ends_reduced:
            return fmt::format(
                "ACCEPTED, {}; between Ac and Re: the next batch is inspected normally",
                batch.decision->decided);
        case LotOutcome::not_accepted:
            return fmt::format("NOT ACCEPTED, {}", batch.decision->decided);
        }
    }
    if (batch.chosen_at.empty())
        return "open: the buyer's part of the choice is waited for: dropledger batch choose";
    const bool can_be = can_be_decided(batch);
    if (!can_be && batch::in_doubt(batch.plan, batch.tested()))
        return "open: the first sample is in doubt, test the second";
    return can_be ? "not taken yet: dropledger batch decide" : "open: units are missing";
}

std::string numbers_words(const batch::BatchPlan& plan) {
    if (plan.samples)
        return fmt::format("{} of {} units, accepted with at most {} nonconforming, not accepted "
                           "from {}; between them {} more, accepted with at most {} in all",
                           plan.samples->n1, plan.request.lot, plan.samples->accept1,
                           plan.samples->reject1, plan.samples->n2, plan.samples->accept2);
    if (plan.measured)
        return fmt::format("{} of {} units measured, accepted where {} by mean and {:.4f} standard "
                           "deviations",
                           plan.numbers.n, plan.request.lot, batch::text_of(plan.measured->limit),
                           plan.measured->plan.k);
    return fmt::format(
        "{} of {} units, accepted with at most {} nonconforming, not accepted from {} on",
        plan.numbers.n, plan.request.lot, plan.numbers.accept, plan.numbers.reject);
}

std::vector<std::string> plan_lines(const batch::BatchPlan& plan) {
    std::vector<std::string> lines{numbers_words(plan)};
    if (plan.numbers.computed)
        lines.emplace_back("computed by the rule of the tables, whose cell is not at hand");
    if (plan.kind == batch::PlanKind::table)
        lines.push_back(fmt::format("level {}, AQL {} %, {} inspection, code letter {} ({})",
                                    plan.request.level, plan.request.aql,
                                    batch::word_of(plan.request.severity), plan.numbers.letter,
                                    plan.severity_reason));
    if (plan.points)
        lines.push_back(fmt::format("for {} with risk {} and {} with risk {}", plan.points->good,
                                    plan.points->alpha, plan.points->bad, plan.points->beta));
    return lines;
}

std::string choice_words(const batch::Choice& choice) {
    const std::string seed = choice.seed ? fmt::format("seed {}", *choice.seed) : "not made yet";
    switch (choice.origin) {
    case batch::SeedOrigin::typed:
        return seed + ", typed: nobody can tell what it was picked for";
    case batch::SeedOrigin::drawn:
        return seed + ", drawn without a buyer's part";
    case batch::SeedOrigin::with_buyer:
        return choice.seed ? seed + fmt::format(", with the buyer's text '{}'", choice.buyer_text)
                           : seed + ": give the opening to the buyer, who then gives a text";
    }
    throw BrokenInvariant("a seed from nowhere");
}

std::string statistics_words(const batch::BatchStatistics& statistics) {
    std::string words;
    if (statistics.pooled_miss)
        words += fmt::format(
            "misses        {} of all drops, as the gate saw them ({} of {}, {} units)\n",
            in_percent(*statistics.pooled_miss), statistics.misses, statistics.drops,
            statistics.units);
    if (statistics.nonconforming_share)
        words +=
            fmt::format("nonconforming {} of all units of the batch, by the tested ones alone\n",
                        in_percent(*statistics.nonconforming_share));
    if (statistics.limit && statistics.share_outside)
        words += fmt::format("predicted     {} of all units of the batch miss more than the limit "
                             "of {:.3g} %, if units vary as "
                             "a beta-binomial says\n",
                             in_percent(*statistics.share_outside), 100.0 * *statistics.limit);
    else if (statistics.limit)
        words += "predicted     share of units above the limit: not defined (too few units, or no "
                 "misses at all)\n";
    return words;
}

std::string list_words(const char* head, const std::vector<std::string>& units) {
    return units.empty() ? std::string{}
                         : head + shown_text(fmt::format("{}", fmt::join(units, " "))) + "\n";
}

std::string reason_of(const batch::TestedRun& run) {
    if (run.taken_out)
        return fmt::format("  ({}: {})", row_in(batch::void_cause_names, run.taken_out->cause).key,
                           run.taken_out->text);
    return run.reason.empty() ? "" : "  (" + run.reason + ")";
}

std::string run_words(const batch::TestedRun& run) {
    const std::string misses =
        run.drops > 0 ? fmt::format("{} misses of {} drops", run.misses, run.drops) : "";
    TextPage page;
    page.add("  {:<14} {:<9} {:<26} {}  run {}{}{}\n", run.unit, verdict::name_of(run.outcome),
             misses, run.file, run.run, run.counted() ? "" : "  does not count", reason_of(run));
    return page.text();
}

Json standing_json(const batch::Standing& standing) {
    return {{"conforming", standing.conforming},
            {"nonconforming", standing.nonconforming},
            {"undecided", standing.undecided},
            {"untested", standing.untested}};
}

Json plan_json(const batch::BatchPlan& plan) {
    const bool table = plan.kind == batch::PlanKind::table;
    return {{"kind", batch::word_of(plan.kind)},
            {"letter", table ? Json(std::string(1, plan.numbers.letter)) : Json(nullptr)},
            {"level", table ? Json(plan.request.level) : Json(nullptr)},
            {"aql_percent", table ? Json(plan.request.aql) : Json(nullptr)},
            {"severity", table ? Json(batch::word_of(plan.request.severity)) : Json(nullptr)},
            {"severity_reason", plan.severity_reason},
            {"computed", plan.numbers.computed},
            {"samples", plan.samples ? Json{{"n1", plan.samples->n1},
                                            {"accept1", plan.samples->accept1},
                                            {"reject1", plan.samples->reject1},
                                            {"n2", plan.samples->n2},
                                            {"accept2", plan.samples->accept2}}
                                     : Json(nullptr)},
            {"measured", plan.measured ? Json{{"limit", batch::text_of(plan.measured->limit)},
                                              {"k", plan.measured->plan.k}}
                                       : Json(nullptr)},
            {"n", plan.numbers.n},
            {"accept", plan.numbers.accept},
            {"reject", plan.numbers.reject}};
}

Json run_json(const batch::TestedRun& run) {
    return {{"unit", run.unit},
            {"channel", run.channel},
            {"run", run.run},
            {"file", run.file},
            {"outcome", verdict::name_of(run.outcome)},
            {"drops", run.drops},
            {"misses", run.misses},
            {"corrected_miss", report::estimate_json(run.corrected_miss)},
            {"calibrations", run.calibrations},
            {"counted", run.counted()},
            {"held_back", row_in(batch::held_back_names, run.held_back).key},
            {"simulated", run.simulated},
            {"run_number", or_null(run.run_number)},
            {"taken_out",
             run.taken_out
                 ? Json{{"cause", row_in(batch::void_cause_names, run.taken_out->cause).key},
                        {"text", run.taken_out->text}}
                 : Json(nullptr)},
            {"reason", run.reason}};
}

Json revoked_json(const batch::Batch& batch) {
    Json list = Json::array();
    for (const batch::Revocation& one : batch.revocations)
        list.push_back({{"certificate", one.certificate},
                        {"sha256", one.sha256},
                        {"cause", row_in(batch::revocation_cause_names, one.cause).key},
                        {"text", one.text},
                        {"at", one.at}});
    return list;
}

Result<BatchState> state_of(batch::Batch batch, std::vector<std::string> notes) {
    const auto profile = verdict::parse_profile(batch.profile.text, batch.profile.name);
    if (!profile)
        return profile.error();
    BatchState state;
    state.standing = batch::standing(batch.tested());
    state.statistics = batch::statistics_of(batch.runs, evidence::miss_limit(*profile),
                                            profile->confidence, batch.pooled_runs);
    state.batch = std::move(batch);
    state.notes = std::move(notes);
    return state;
}

std::string state_text(const BatchState& state, bool units) {
    const batch::Batch& batch = state.batch;
    TextPage page;
    page.add("batch         {}, {} units, opened {}\n", batch.id, batch.size(), batch.opened);
    page.add("profile       {}\n", batch.profile.name);
    const char* head = "plan";
    for (const std::string& line : plan_lines(batch.plan))
        page.add("{:<14}{}\n", std::exchange(head, ""), line);
    if (batch.rehearsal)
        page.add(
            "REHEARSAL     simulated runs are taken, times may be stated; it certifies nothing\n");
    page.add("choice        {}\n", choice_words(batch.choice));
    page.add("opening       {}\n", batch.journal.opening());
    page.add("tested        {} conform, {} do not, {} undecided, {} still to be tested\n",
             state.standing.conforming.size(), state.standing.nonconforming.size(),
             state.standing.undecided.size(), state.standing.untested.size());
    page.append(list_words("do not        ", state.standing.nonconforming));
    page.append(list_words("undecided     ", state.standing.undecided));
    if (units || state.standing.untested.size() <= 10)
        page.append(list_words("to be tested  ", state.standing.untested));
    page.append(statistics_words(state.statistics));
    page.add("decision      {}\n", decision_words(batch));
    for (const batch::Revocation& one : batch.revocations)
        page.add("revoked       {}, {}: {}\n", one.certificate, one.at, one.text);
    if (units)
        for (const batch::TestedRun& run : batch.runs)
            page.append(run_words(run));
    for (const std::string& note : state.notes)
        page.add("note: {}\n", note);
    return page.text();
}

Json state_json(const BatchState& state) {
    const batch::Batch& batch = state.batch;
    Json runs = Json::array();
    for (const batch::TestedRun& run : batch.runs)
        runs.push_back(run_json(run));
    const Json json{
        {"schema", "dropledger/batch-state/2"},
        {"id", batch.id},
        {"opened", batch.opened},
        {"size", batch.size()},
        {"profile", {{"name", batch.profile.name}, {"sha256", batch.profile.sha256}}},
        {"plan", plan_json(batch.plan)},
        {"rehearsal", batch.rehearsal},
        {"opening", batch.journal.opening()},
        {"head", batch.journal.head()},
        {"choice",
         {{"origin", row_in(batch::seed_origin_names, batch.choice.origin).key},
          {"seed", batch.choice.seed ? Json(fmt::format("{}", *batch.choice.seed)) : Json(nullptr)},
          {"commitment", batch.choice.commitment},
          {"buyer_text", batch.choice.buyer_text}}},
        {"resubmitted", batch.resubmitted ? Json(batch.resubmitted->id) : Json(nullptr)},
        {"pooled_runs", or_null(batch.pooled_runs)},
        {"revoked", revoked_json(batch)},
        {"chosen", batch.chosen},
        {"standing", standing_json(state.standing)},
        {"decision",
         batch.decision ? Json(batch::word_of(batch.decision->outcome)) : Json(nullptr)},
        {"can_be_decided", can_be_decided(batch)},
        {"statistics",
         {{"units", state.statistics.units},
          {"drops", state.statistics.drops},
          {"misses", state.statistics.misses},
          {"pooled_miss", report::estimate_json(state.statistics.pooled_miss)},
          {"nonconforming_share", report::estimate_json(state.statistics.nonconforming_share)},
          {"limit", or_null(state.statistics.limit)},
          {"share_outside", report::estimate_json(state.statistics.share_outside)},
          {"tarone_p", or_null(state.statistics.tarone_p)}}},
        {"runs", std::move(runs)},
        {"notes", state.notes}};
    return json;
}

} // namespace

Result<int> deliver_state(batch::Batch batch, StateOutput how) {
    const auto state = state_of(std::move(batch), std::move(how.notes));
    if (!state)
        return state.error();
    return how.json ? deliver_json(state_json(*state), how.status)
                    : deliver_text(state_text(*state, how.units) + "\n", how.status);
}

std::vector<std::string> hindrances(const batch::Batch& batch) {
    std::vector<std::string> notes;
    const auto say = [&notes](const batch::TestedRun& run, const char* what) {
        notes.push_back(
            fmt::format("{}: unit {} {}: no certificate can follow", run.file, run.unit, what));
    };
    for (const batch::TestedRun& run : batch.runs) {
        if (!run.counted())
            continue;
        if (!run.calibrated)
            say(run, "is judged without a calibration");
        if (!run.whole)
            say(run, "stands in a log that is not whole, or whose seals do not hold");
        if (run.signed_by.empty())
            say(run, "stands in a log that is not signed");
    }
    return notes;
}

Result<Json> shown_state(batch::Batch batch) {
    auto notes = hindrances(batch);
    const auto state = state_of(std::move(batch), std::move(notes));
    if (!state)
        return state.error();
    return state_json(*state);
}

int decision_status(const batch::Batch& batch) {
    if (!batch.decision)
        return 2;
    return batch.decision->outcome == LotOutcome::not_accepted ? 1 : 0;
}

} // namespace dropledger::cli
