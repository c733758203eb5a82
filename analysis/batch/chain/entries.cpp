// What can be done to a batch: as an entry of its journal, now or read again.
#include "analysis/batch/chain/entries.hpp"

#include "analysis/batch/chain/entry_bodies.hpp"
#include "analysis/batch/chain/order.hpp"
#include "analysis/batch/chain/serials.hpp"
#include "analysis/batch/chain/take_runs.hpp"
#include "analysis/batch/runs/json_parts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

Status check_choice(const Choice& choice) {
    const bool bought = choice.origin == SeedOrigin::with_buyer;
    if (bought ? choice.seed.has_value() || choice.commitment.size() != 64
               : !choice.seed || !choice.commitment.empty())
        return input_error("choice", "it has neither a seed nor a commitment, or both", "");
    return Done{};
}

void choose(Batch& batch, std::uint64_t seed, const std::string& at) {
    batch.choice.seed = seed;
    batch.chosen = chosen_units(batch.serials, batch.plan.numbers.n, seed);
    batch.chosen_at = at;
}

void check_members(const Json& body, std::set<std::string> known) {
    known.insert({"at", "kind", "previous"});
    for (auto member = body.begin(); member != body.end(); ++member)
        if (known.count(member.key()) == 0)
            throw WrongEntry(
                fmt::format("it has a member '{}' that this program does not write", member.key()));
}

Status check_not_decided(const Batch& batch) {
    if (batch.decision)
        return usage_error(fmt::format("batch {}", batch.id),
                           fmt::format("it is decided: {}", word_of(batch.decision->outcome)),
                           "runs after the decision belong to a new batch");
    return Done{};
}

Status check_chosen(const Batch& batch) {
    if (batch.chosen_at.empty())
        return usage_error(fmt::format("batch {}", batch.id),
                           "its units are not chosen yet: the buyer's part is waited for",
                           "choose them with the buyer's text");
    return Done{};
}

Status check_rules(const Batch& batch) {
    if (batch.pooled_runs && (*batch.pooled_runs < 2 || *batch.pooled_runs > most_pooled))
        return usage_error("pooled_runs", fmt::format("{} runs", *batch.pooled_runs),
                           fmt::format("2 to {} undecided runs of a unit", most_pooled));
    if (!batch.plan.measured)
        return Done{};
    const auto profile = verdict::parse_profile(batch.profile.text, batch.profile.name);
    if (!profile)
        return profile.error();
    const auto& limits = profile->limits;
    if (std::find(limits.begin(), limits.end(), batch.plan.measured->limit) == limits.end())
        return usage_error("plan", "the profile does not limit what the plan measures",
                           "measure a quantity that the profile limits");
    return Done{};
}

Status apply_open(Batch& batch, const Json& body) {
    check_members(body, {"id", "rehearsal", "serials", "profile", "plan", "choice", "history",
                         "resubmitted", "pooled_runs"});
    if (!batch.serials.empty())
        throw WrongEntry("the batch is opened twice");
    body.at("id").get_to(batch.id);
    body.at("at").get_to(batch.opened);
    body.at("rehearsal").get_to(batch.rehearsal);
    body.at("serials").get_to(batch.serials);
    if (const Status readable = check_names(batch.id, batch.serials); !readable)
        return readable;
    batch.profile = profile_in(body.at("profile"));
    batch.plan = plan_in(body.at("plan"), batch.size());
    batch.choice = choice_in(body.at("choice"));
    if (const Status either = check_choice(batch.choice); !either)
        return either;
    for (const Json& one : body.at("history"))
        batch.history.push_back(earlier_in(one));
    if (!body.at("resubmitted").is_null())
        batch.resubmitted = earlier_in(body.at("resubmitted"));
    read_into(batch.pooled_runs, body.at("pooled_runs"));
    if (const Status rules = check_rules(batch); !rules)
        return rules;
    if (batch.choice.seed)
        choose(batch, *batch.choice.seed, batch.opened);
    return Done{};
}

Status apply_choose(Batch& batch, const Json& body) {
    check_members(body, {"bench_part", "buyer_text"});
    if (batch.choice.origin != SeedOrigin::with_buyer || !batch.chosen_at.empty())
        return usage_error(fmt::format("batch {}", batch.id), "its units are chosen already",
                           "a choice is made once");
    body.at("bench_part").get_to(batch.choice.bench_part);
    body.at("buyer_text").get_to(batch.choice.buyer_text);
    if (commitment_to(batch.choice.bench_part) != batch.choice.commitment)
        return input_error("bench_part",
                           "it is not the one that was bound when the batch was opened",
                           "take the file that `batch open` wrote beside the batch");
    if (batch.choice.buyer_text.empty())
        return usage_error("buyer_text", "it is empty", "ask the buyer for a text of his own");
    choose(batch, seed_with_buyer(batch.choice.bench_part, batch.choice.buyer_text),
           body.at("at").get<std::string>());
    return Done{};
}

Status apply_add(Batch& batch, const Json& body) {
    check_members(body, {"reason", "runs", "calibrations"});
    if (const Status open = check_not_decided(batch); !open)
        return open;
    if (const Status chosen = check_chosen(batch); !chosen)
        return chosen;
    std::vector<TestedRun> runs;
    for (const Json& json : body.at("runs")) {
        runs.push_back(read_as<TestedRun>(json));
        check_same(json_of(runs.back()), json, "run");
        if (runs.back().taken_out)
            throw WrongEntry("a run is taken out before it is in");
    }
    for (const Json& json : body.at("calibrations")) {
        const auto calibration = read_as<UsedCalibration>(json);
        check_same(json_of(calibration), json, "calibration");
        if (const Status taken = take_calibration(batch, calibration); !taken)
            return taken;
    }
    return take_runs(batch, std::move(runs), body.at("reason").get<std::string>());
}

Status apply_void(Batch& batch, const Json& body) {
    check_members(body, {"run", "unit", "cause", "text"});
    if (const Status open = check_not_decided(batch); !open)
        return open;
    const auto name = body.at("run").get<std::string>();
    const auto taken = read_as<TakenOut>(body);
    if (taken.text.empty())
        return usage_error("reason", "a run is not taken out of the count without one",
                           "say what was seen at the bench");
    bool found = false;
    for (TestedRun& run : batch.runs) {
        if ((run.run != name && run.file != name) ||
            (!body.at("unit").is_null() && run.unit != body.at("unit").get<std::string>()))
            continue;
        found = true;
        if (run.taken_out)
            return usage_error(run.run, "it is void already", "");
        run.taken_out = taken;
    }
    if (!found)
        return usage_error(name, "the batch has no such run", "`batch show` lists them");
    return Done{};
}

Status apply_decide(Batch& batch, const Json& body) {
    check_members(body, {"outcome", "nonconforming"});
    if (const Status open = check_not_decided(batch); !open)
        return open;
    if (const Status chosen = check_chosen(batch); !chosen)
        return chosen;
    const Standing found = standing(batch.tested());
    const auto outcome = decision_of(batch.plan, batch.tested());
    const auto nonconforming = static_cast<std::int64_t>(found.nonconforming.size());
    if (!outcome || word_of(*outcome) != body.at("outcome").get<std::string>() ||
        nonconforming != body.at("nonconforming").get<std::int64_t>())
        throw WrongEntry("the decision does not follow from the runs by the plan");
    batch.decision = BatchDecision{*outcome, nonconforming, body.at("at").get<std::string>()};
    return Done{};
}

Status apply_revoke(Batch& batch, const Json& body) {
    check_members(body, {"certificate", "sha256", "cause", "text"});
    if (!batch.decision)
        return usage_error(fmt::format("batch {}", batch.id), "it is not decided",
                           "without a decision there is no certificate to take back");
    auto taken = read_as<Revocation>(body);
    if (taken.text.empty())
        return usage_error("reason", "a certificate is not taken back without one",
                           "say what was wrong");
    for (const Revocation& known : batch.revocations)
        if (known.sha256 == taken.sha256)
            return usage_error(taken.certificate, "it is revoked already", "");
    batch.revocations.push_back(std::move(taken));
    return Done{};
}

Status apply_kind(Batch& batch, const Json& body) {
    const auto word = body.at("kind").get<std::string>();
    const auto kind = value_named(act_names, word);
    if (kind != Act::open && batch.serials.empty())
        throw WrongEntry("the batch was not opened");
    if (!kind)
        throw WrongEntry(fmt::format("nothing that is done to a batch is called '{}'", word));
    switch (*kind) {
    case Act::open:
        return apply_open(batch, body);
    case Act::choose:
        return apply_choose(batch, body);
    case Act::add:
        return apply_add(batch, body);
    case Act::make_void:
        return apply_void(batch, body);
    case Act::decide:
        return apply_decide(batch, body);
    case Act::revoke:
        return apply_revoke(batch, body);
    }
    throw BrokenInvariant("an entry of no kind");
}

// One more entry, or the batch as it was.
Status enter(Batch& batch, Json body, const Signer& signer) {
    Batch next = batch;
    if (const Status written = next.journal.append(body, signer); !written)
        return written.error();
    body["at"] = signer.at;
    if (const Status done = take_entry(next, body); !done)
        return done.error();
    const auto broken = violations(next);
    if (!broken.empty())
        return usage_error(broken.front().where, broken.front().what, broken.front().remedy);
    batch = std::move(next);
    return Done{};
}

} // namespace

Status take_entry(Batch& batch, const Json& body) {
    try {
        return apply_kind(batch, body);
    } catch (const BrokenInvariant&) {
        throw;
    } catch (const std::exception& problem) {
        return input_error("", problem.what(), "take the file as `dropledger batch` wrote it");
    }
}

Result<Batch> open_batch(OpenRequest request, const Signer& signer) {
    const auto count = static_cast<std::int64_t>(request.serials.size());
    if (count != request.plan.request.lot)
        return usage_error(
            "serials",
            fmt::format("there are {}, the lot has {} units", count, request.plan.request.lot),
            "the random choice needs the serial of every unit of the batch");
    if (const Status readable = check_names(request.id, request.serials); !readable)
        return readable.error();
    Batch batch;
    const Status opened = enter(batch,
                                {{"kind", name_of(Act::open)},
                                 {"id", request.id},
                                 {"rehearsal", request.rehearsal},
                                 {"serials", request.serials},
                                 {"profile", written(request.profile)},
                                 {"plan", json_of(request.plan)},
                                 {"choice", json_of(request.choice)},
                                 {"history", written(request.history)},
                                 {"resubmitted", written(request.resubmitted)},
                                 {"pooled_runs", written(request.pooled_runs)}},
                                signer);
    if (!opened)
        return opened.error();
    return batch;
}

Status choose_with(Batch& batch, const BuyersPart& both, const Signer& signer) {
    return enter(batch,
                 {{"kind", name_of(Act::choose)},
                  {"bench_part", both.bench_part},
                  {"buyer_text", both.buyer_text}},
                 signer);
}

Status add_runs(Batch& batch, Addition addition, const Signer& signer) {
    return enter(batch,
                 {{"kind", name_of(Act::add)},
                  {"reason", addition.reason},
                  {"runs", written(addition.runs)},
                  {"calibrations", written(addition.calibrations)}},
                 signer);
}

Status make_void(Batch& batch, const VoidRequest& request, const Signer& signer) {
    return enter(batch,
                 {{"kind", name_of(Act::make_void)},
                  {"run", request.run},
                  {"unit", written(request.unit)},
                  {"cause", row_in(void_cause_names, request.cause).key},
                  {"text", request.text}},
                 signer);
}

Status revoke(Batch& batch, const RevokeRequest& request, const Signer& signer) {
    return enter(batch,
                 {{"kind", name_of(Act::revoke)},
                  {"certificate", request.certificate},
                  {"sha256", request.sha256},
                  {"cause", row_in(revocation_cause_names, request.cause).key},
                  {"text", request.text}},
                 signer);
}

Status decide(Batch& batch, const Signer& signer) {
    const Standing found = standing(batch.tested());
    const auto outcome = decision_of(batch.plan, batch.tested());
    if (batch.decision || !outcome || batch.chosen_at.empty())
        return Done{};
    return enter(batch,
                 {{"kind", name_of(Act::decide)},
                  {"outcome", word_of(*outcome)},
                  {"nonconforming", found.nonconforming.size()}},
                 signer);
}

} // namespace dropledger::batch
