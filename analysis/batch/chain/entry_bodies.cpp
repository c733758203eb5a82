#include "analysis/batch/chain/entry_bodies.hpp"

#include "analysis/base/text.hpp"
#include "analysis/batch/runs/json_parts.hpp"
#include "analysis/droplog/seal.hpp"

#include <fmt/format.h>

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

template <class Value> Value checked(Result<Value> result) {
    if (!result)
        throw WrongEntry(result.error().message());
    return *std::move(result);
}

std::optional<statistics::TwoPoint> points_in(const Json& json) {
    if (json.is_null())
        return std::nullopt;
    return statistics::TwoPoint{.good = json.at("good").get<double>(),
                                .bad = json.at("bad").get<double>(),
                                .alpha = json.at("alpha").get<double>(),
                                .beta = json.at("beta").get<double>()};
}

BatchPlan plan_by_kind(const Json& json, std::int64_t lot) {
    const PlanKind kind = word_in(plan_kind_names, json, "kind");
    if (kind == PlanKind::own)
        return checked(
            own_plan(lot, json.at("n").get<std::int64_t>(), json.at("accept").get<std::int64_t>()));
    if (kind == PlanKind::two_point)
        return checked(two_point_plan(lot, points_in(json.at("points")).value()));
    if (kind == PlanKind::two_samples) {
        const Json& samples = json.at("samples");
        return checked(
            two_sample_plan(lot,
                            DoublePlan{.n1 = samples.at("n1").get<std::int64_t>(),
                                       .accept1 = samples.at("accept1").get<std::int64_t>(),
                                       .reject1 = samples.at("reject1").get<std::int64_t>(),
                                       .n2 = samples.at("n2").get<std::int64_t>(),
                                       .accept2 = samples.at("accept2").get<std::int64_t>()},
                            points_in(json.at("points"))));
    }
    if (kind == PlanKind::variables)
        return checked(variables_plan_of(lot, limit_in(json.at("limit").get<std::string>()),
                                         points_in(json.at("points")).value()));
    LotRequest request;
    request.lot = lot;
    request.level = json.at("level").get<std::string>();
    request.aql = json.at("aql_percent").get<double>();
    request.severity = word_in(severity_names, json, "severity");
    return checked(table_plan(request, json.at("severity_reason").get<std::string>()));
}

} // namespace

void check_same(const Json& again, const Json& written, const char* what) {
    if (again != written)
        throw WrongEntry(fmt::format("its {} is not as this program writes it, or does not follow "
                                     "from what stands beside it",
                                     what));
}

Json json_of(const BatchPlan& plan) {
    const bool table = plan.kind == PlanKind::table;
    Json json{{"kind", word_of(plan.kind)},
              {"level", table ? Json(plan.request.level) : Json(nullptr)},
              {"aql_percent", table ? Json(plan.request.aql) : Json(nullptr)},
              {"severity", table ? Json(word_of(plan.request.severity)) : Json(nullptr)},
              {"severity_reason", plan.severity_reason},
              {"points", nullptr},
              {"samples", nullptr},
              {"limit", plan.measured ? Json(text_of(plan.measured->limit)) : Json(nullptr)},
              {"letter", table ? std::string(1, plan.numbers.letter) : std::string{}},
              {"n", plan.numbers.n},
              {"accept", plan.numbers.accept},
              {"reject", plan.numbers.reject}};
    if (plan.points)
        json["points"] = {{"good", plan.points->good},
                          {"bad", plan.points->bad},
                          {"alpha", plan.points->alpha},
                          {"beta", plan.points->beta}};
    if (plan.samples)
        json["samples"] = {{"n1", plan.samples->n1},
                           {"accept1", plan.samples->accept1},
                           {"reject1", plan.samples->reject1},
                           {"n2", plan.samples->n2},
                           {"accept2", plan.samples->accept2}};
    return json;
}

BatchPlan plan_in(const Json& json, std::int64_t lot) {
    BatchPlan plan = plan_by_kind(json, lot);
    check_same(json_of(plan), json, "plan");
    return plan;
}

Json json_of(const BatchProfile& profile) {
    return {{"name", profile.name}, {"sha256", profile.sha256}, {"text", profile.text}};
}

BatchProfile profile_in(const Json& json) {
    BatchProfile profile;
    json.at("name").get_to(profile.name);
    json.at("sha256").get_to(profile.sha256);
    json.at("text").get_to(profile.text);
    if (droplog::to_hex(droplog::sha256(profile.text)) != profile.sha256)
        throw WrongEntry("the profile's text does not have its sha256");
    check_same(json_of(profile), json, "profile");
    return profile;
}

Json json_of(const Choice& choice) {
    return {{"origin", row_in(seed_origin_names, choice.origin).key},
            {"seed", choice.seed ? Json(fmt::format("{}", *choice.seed)) : Json(nullptr)},
            {"commitment", choice.commitment},
            {"method", choice_method}};
}

Choice choice_in(const Json& json) {
    Choice choice;
    choice.origin = word_in(seed_origin_names, json, "origin");
    json.at("commitment").get_to(choice.commitment);
    if (!json.at("seed").is_null()) {
        choice.seed = parse_uint(json.at("seed").get<std::string>());
        if (!choice.seed)
            throw WrongEntry("the seed is no whole number in quotes");
    }
    check_same(json_of(choice), json, "choice");
    return choice;
}

Json json_of(const EarlierBatch& earlier) {
    return {{"id", earlier.id}, {"head", earlier.head}};
}

EarlierBatch earlier_in(const Json& json) {
    EarlierBatch earlier;
    json.at("id").get_to(earlier.id);
    json.at("head").get_to(earlier.head);
    check_same(json_of(earlier), json, "earlier batch");
    return earlier;
}

} // namespace dropledger::batch
