#include "analysis/batch/batch_file.hpp"

#include "analysis/base/readers/json_reader.hpp"
#include "analysis/base/text.hpp"
#include "analysis/batch/choice.hpp"
#include "analysis/batch/json_parts.hpp"
#include "analysis/droplog/seal.hpp"

#include <fmt/format.h>

#include <exception>

namespace dropledger::batch {

using Json = nlohmann::ordered_json;

namespace {

constexpr const char* schema = "dropledger/batch-file/1";

Json json_of(const BatchPlan& plan) {
    const bool table = plan.kind == PlanKind::table;
    Json json{{"kind", word_of(plan.kind)},
              {"level", table ? Json(plan.request.level) : Json(nullptr)},
              {"aql_percent", table ? Json(plan.request.aql) : Json(nullptr)},
              {"severity", table ? Json(word_of(plan.request.severity)) : Json(nullptr)},
              {"severity_reason", plan.severity_reason},
              {"points", nullptr},
              {"letter", table ? std::string(1, plan.numbers.letter) : std::string{}},
              {"n", plan.numbers.n},
              {"accept", plan.numbers.accept},
              {"reject", plan.numbers.reject}};
    if (plan.points)
        json["points"] = {{"good", plan.points->good},
                          {"bad", plan.points->bad},
                          {"alpha", plan.points->alpha},
                          {"beta", plan.points->beta}};
    return json;
}

Json json_of(const BatchDecision& decision) {
    return {{"outcome", word_of(decision.outcome)},
            {"nonconforming", decision.nonconforming},
            {"decided", decision.decided}};
}

// What is wrong with a file that is JSON; caught where the file is read.
struct Wrong : std::runtime_error {
    using std::runtime_error::runtime_error;
};

template <class Value> Value checked(Result<Value> result) {
    if (!result)
        throw Wrong(result.error().message());
    return *std::move(result);
}

Result<BatchPlan> plan_by_kind(const Json& json, std::int64_t lot) {
    const PlanKind kind = word_in(plan_kind_names, json, "kind");
    if (kind == PlanKind::own)
        return own_plan(lot, json.at("n").get<std::int64_t>(),
                        json.at("accept").get<std::int64_t>());
    if (kind == PlanKind::two_point) {
        const Json& points = json.at("points");
        return two_point_plan(lot, {.good = points.at("good").get<double>(),
                                    .bad = points.at("bad").get<double>(),
                                    .alpha = points.at("alpha").get<double>(),
                                    .beta = points.at("beta").get<double>()});
    }
    LotRequest request;
    request.lot = lot;
    request.level = json.at("level").get<std::string>();
    request.aql = json.at("aql_percent").get<double>();
    request.severity = checked(parse_severity(json.at("severity").get<std::string>()));
    return table_plan(request, json.at("severity_reason").get<std::string>());
}

// The numbers are made anew and must be those of the file.
BatchPlan plan_of(const Json& json, std::int64_t lot) {
    BatchPlan plan = checked(plan_by_kind(json, lot));
    if (plan.numbers.n != json.at("n").get<std::int64_t>() ||
        plan.numbers.accept != json.at("accept").get<std::int64_t>() ||
        plan.numbers.reject != json.at("reject").get<std::int64_t>())
        throw Wrong("the plan's n, accept and reject are not those of its kind");
    return plan;
}

BatchProfile profile_of(const Json& json) {
    BatchProfile profile;
    json.at("name").get_to(profile.name);
    json.at("sha256").get_to(profile.sha256);
    json.at("text").get_to(profile.text);
    if (droplog::to_hex(droplog::sha256(profile.text)) != profile.sha256)
        throw Wrong("the profile's text does not have its sha256");
    return profile;
}

BatchDecision decision_in(const Json& json, const Batch& batch) {
    const Standing found = standing(batch.chosen, batch.runs);
    const auto outcome = decision_of(batch.plan.numbers, found);
    BatchDecision decision;
    json.at("decided").get_to(decision.decided);
    json.at("nonconforming").get_to(decision.nonconforming);
    if (!outcome || word_of(*outcome) != json.at("outcome").get<std::string>() ||
        decision.nonconforming != static_cast<std::int64_t>(found.nonconforming.size()))
        throw Wrong("the decision does not follow from the runs by the plan");
    decision.outcome = *outcome;
    return decision;
}

Batch batch_of(const Json& json) {
    Batch batch;
    json.at("id").get_to(batch.id);
    json.at("opened").get_to(batch.opened);
    json.at("serials").get_to(batch.serials);
    batch.profile = profile_of(json.at("profile"));
    batch.plan = plan_of(json.at("plan"), batch.size());
    const auto seed = parse_uint(json.at("seed").get<std::string>());
    if (!seed)
        throw Wrong("the seed is no whole number in quotes");
    batch.seed = *seed;
    json.at("chosen").get_to(batch.chosen);
    if (batch.chosen != chosen_units(batch.serials, batch.plan.numbers.n, batch.seed))
        throw Wrong("the chosen units are not those that the seed chooses from the serials");
    for (const Json& run : json.at("runs"))
        batch.runs.push_back(run_of(run));
    for (const Json& calibration : json.at("calibrations"))
        batch.calibrations.push_back(calibration_of(calibration));
    if (!json.at("decision").is_null())
        batch.decision = decision_in(json.at("decision"), batch);
    return batch;
}

} // namespace

std::string to_text(const Batch& batch) {
    Json json{{"schema", schema},
              {"id", batch.id},
              {"opened", batch.opened},
              {"size", batch.size()},
              {"profile",
               {{"name", batch.profile.name},
                {"sha256", batch.profile.sha256},
                {"text", batch.profile.text}}},
              {"plan", json_of(batch.plan)},
              {"seed", fmt::format("{}", batch.seed)},
              {"choice_method", choice_method},
              {"chosen", batch.chosen},
              {"runs", Json::array()},
              {"calibrations", Json::array()},
              {"decision", batch.decision ? json_of(*batch.decision) : Json(nullptr)},
              {"serials", batch.serials}};
    for (const TestedRun& run : batch.runs)
        json["runs"].push_back(json_of<Json>(run));
    for (const UsedCalibration& calibration : batch.calibrations)
        json["calibrations"].push_back(json_of<Json>(calibration));
    // bytes that are no text (a serial out of a foreign log) are shown as U+FFFD
    return json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<Batch> parse_batch(std::string_view text, const std::string& where) {
    const auto refused = [&](std::string what) {
        return input_error(where, std::move(what), "take the file as `dropledger batch` wrote it");
    };
    const auto found = read_ordered_json(text, where);
    if (!found)
        return refused(found.error().what);
    const Json& json = *found;
    if (!json.is_object() || json.value("schema", Json()) != schema)
        return refused(fmt::format("it is not a batch file of this version ({})", schema));
    try {
        return batch_of(json);
    } catch (const BrokenInvariant&) {
        throw;
    } catch (const std::exception& problem) {
        return refused(problem.what());
    }
}

} // namespace dropledger::batch
