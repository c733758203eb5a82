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

BatchPlan plan_by_kind(const Json& json, std::int64_t lot) {
    const PlanKind kind = word_in(plan_kind_names, json, "kind");
    if (kind == PlanKind::own)
        return checked(
            own_plan(lot, json.at("n").get<std::int64_t>(), json.at("accept").get<std::int64_t>()));
    if (kind == PlanKind::two_point)
        return checked(two_point_plan(lot, read_as<statistics::TwoPoint>(json.at("points"))));
    if (kind == PlanKind::two_samples)
        return checked(
            two_sample_plan(lot, read_as<DoublePlan>(json.at("samples")),
                            read_as<std::optional<statistics::TwoPoint>>(json.at("points"))));
    if (kind == PlanKind::variables)
        return checked(variables_plan_of(lot, read_as<verdict::Limit>(json.at("limit")),
                                         read_as<statistics::TwoPoint>(json.at("points"))));
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
    return {{"kind", word_of(plan.kind)},
            {"level", table ? Json(plan.request.level) : Json(nullptr)},
            {"aql_percent", table ? Json(plan.request.aql) : Json(nullptr)},
            {"severity", table ? Json(word_of(plan.request.severity)) : Json(nullptr)},
            {"severity_reason", plan.severity_reason},
            {"points", written(plan.points)},
            {"samples", written(plan.samples)},
            {"limit", plan.measured ? written(plan.measured->limit) : Json(nullptr)},
            {"letter", table ? std::string(1, plan.numbers.letter) : std::string{}},
            {"n", plan.numbers.n},
            {"accept", plan.numbers.accept},
            {"reject", plan.numbers.reject}};
}

BatchPlan plan_in(const Json& json, std::int64_t lot) {
    BatchPlan plan = plan_by_kind(json, lot);
    check_same(json_of(plan), json, "plan");
    return plan;
}

BatchProfile profile_in(const Json& json) {
    auto profile = read_as<BatchProfile>(json);
    if (droplog::to_hex(droplog::sha256(profile.text)) != profile.sha256)
        throw WrongEntry("the profile's text does not have its sha256");
    check_same(written(profile), json, "profile");
    return profile;
}

Json json_of(const Choice& choice) {
    return {{"origin", row_in(seed_origin_names, choice.origin).key},
            {"seed", choice.seed ? Json(fmt::format("{}", *choice.seed)) : Json(nullptr)},
            {"commitment", choice.commitment},
            {"method", choice.method}};
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

EarlierBatch earlier_in(const Json& json) {
    auto earlier = read_as<EarlierBatch>(json);
    check_same(written(earlier), json, "earlier batch");
    return earlier;
}

} // namespace dropledger::batch
