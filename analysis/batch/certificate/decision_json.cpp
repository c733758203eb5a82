#include "analysis/batch/certificate/decision_json.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/batch/runs/json_parts.hpp"

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

Json risk_json(const std::optional<RiskPoint>& point) {
    if (!point)
        return nullptr;
    return {{"share", point->share}, {"accept_probability", point->accept_probability}};
}

std::optional<RiskPoint> risk_of(const Json& json) {
    if (json.is_null())
        return std::nullopt;
    return RiskPoint{.share = json.at("share").get<double>(),
                     .accept_probability = json.at("accept_probability").get<double>()};
}

Json samples_json(const std::optional<DoublePlan>& samples) {
    if (!samples)
        return nullptr;
    return {{"n1", samples->n1},
            {"accept1", samples->accept1},
            {"reject1", samples->reject1},
            {"n2", samples->n2},
            {"accept2", samples->accept2}};
}

std::optional<DoublePlan> samples_of(const Json& json) {
    if (json.is_null())
        return std::nullopt;
    return DoublePlan{.n1 = json.at("n1").get<std::int64_t>(),
                      .accept1 = json.at("accept1").get<std::int64_t>(),
                      .reject1 = json.at("reject1").get<std::int64_t>(),
                      .n2 = json.at("n2").get<std::int64_t>(),
                      .accept2 = json.at("accept2").get<std::int64_t>()};
}

Json json_of(const PooledRuns& pooled) {
    return {{"unit", pooled.unit},
            {"files", pooled.files},
            {"limits", list_of(pooled.limits)},
            {"outcome", verdict::name_of(pooled.outcome)}};
}

PooledRuns pooled_of(const Json& json) {
    PooledRuns pooled;
    json.at("unit").get_to(pooled.unit);
    json.at("files").get_to(pooled.files);
    for (const Json& one : json.at("limits"))
        pooled.limits.push_back(limit_result_of(one));
    pooled.outcome = word_in(verdict::outcome_names, json, "outcome");
    return pooled;
}

Json measured_json(const std::optional<MeasuredSample>& sample) {
    if (!sample)
        return nullptr;
    Json units = Json::array();
    for (const MeasuredUnit& one : sample->units)
        units.push_back({{"unit", one.unit}, {"value", one.value}});
    return {{"units", std::move(units)},
            {"mean", sample->mean},
            {"sd", sample->sd},
            {"criterion", sample->criterion},
            {"normality_p", or_null<Json>(sample->normality_p)},
            {"outside_others", sample->outside_others},
            {"accepted", sample->accepted}};
}

std::optional<MeasuredSample> measured_of(const Json& json) {
    if (json.is_null())
        return std::nullopt;
    MeasuredSample sample;
    for (const Json& one : json.at("units"))
        sample.units.push_back({one.at("unit").get<std::string>(), one.at("value").get<double>()});
    json.at("mean").get_to(sample.mean);
    json.at("sd").get_to(sample.sd);
    json.at("criterion").get_to(sample.criterion);
    sample.normality_p = optional_number(json.at("normality_p"));
    json.at("outside_others").get_to(sample.outside_others);
    json.at("accepted").get_to(sample.accepted);
    return sample;
}

} // namespace

Json json_of(const CertifiedPlan& plan) {
    Json risks = Json::array();
    for (const RiskPoint& point : plan.risks)
        risks.push_back(risk_json(point));
    return {{"kind", word_of(plan.kind)},
            {"level", plan.level},
            {"aql_percent", or_null<Json>(plan.aql_percent)},
            {"severity", plan.severity ? word_of(*plan.severity) : ""},
            {"severity_reason", plan.severity_reason},
            {"letter", plan.letter},
            {"n", plan.n},
            {"accept", plan.accept},
            {"reject", plan.reject},
            {"computed", plan.computed},
            {"samples", samples_json(plan.samples)},
            {"measured", plan.measured ? Json(text_of(*plan.measured)) : Json(nullptr)},
            {"k", or_null<Json>(plan.k)},
            {"risks", std::move(risks)},
            {"producers_risk", risk_json(plan.named.producer)},
            {"consumers_risk", risk_json(plan.named.consumer)}};
}

CertifiedPlan plan_of(const Json& json) {
    CertifiedPlan plan;
    plan.kind = word_in(plan_kind_names, json, "kind");
    json.at("level").get_to(plan.level);
    plan.aql_percent = optional_number(json.at("aql_percent"));
    if (json.at("severity") != "")
        plan.severity = word_in(severity_names, json, "severity");
    json.at("severity_reason").get_to(plan.severity_reason);
    json.at("letter").get_to(plan.letter);
    json.at("n").get_to(plan.n);
    json.at("accept").get_to(plan.accept);
    json.at("reject").get_to(plan.reject);
    json.at("computed").get_to(plan.computed);
    plan.samples = samples_of(json.at("samples"));
    if (!json.at("measured").is_null())
        plan.measured = limit_in(json.at("measured").get<std::string>());
    plan.k = optional_number(json.at("k"));
    for (const Json& point : json.at("risks"))
        plan.risks.push_back(risk_of(point).value());
    plan.named = {risk_of(json.at("producers_risk")), risk_of(json.at("consumers_risk"))};
    return plan;
}

Json json_of(const CertifiedDecision& decision) {
    Json pooled = Json::array();
    for (const PooledRuns& one : decision.pooled)
        pooled.push_back(json_of(one));
    return {{"outcome", word_of(decision.outcome)},
            {"tested", decision.tested},
            {"nonconforming", decision.nonconforming},
            {"nonconforming_units", decision.nonconforming_units},
            {"taken_out",
             {{"runs", decision.taken_out.runs},
              {"outside", decision.taken_out.outside},
              {"units_outside", decision.taken_out.units_outside},
              {"bound", decision.taken_out.bound}}},
            {"pooled", std::move(pooled)},
            {"measured", measured_json(decision.measured)},
            {"decided", decision.decided}};
}

CertifiedDecision decision_of(const Json& json) {
    CertifiedDecision decision;
    decision.outcome = word_in(lot_outcome_names, json, "outcome");
    json.at("tested").get_to(decision.tested);
    json.at("nonconforming").get_to(decision.nonconforming);
    json.at("nonconforming_units").get_to(decision.nonconforming_units);
    const Json& taken = json.at("taken_out");
    decision.taken_out = {
        taken.at("runs").get<std::int64_t>(), taken.at("outside").get<std::int64_t>(),
        taken.at("units_outside").get<std::int64_t>(), taken.at("bound").get<std::int64_t>()};
    for (const Json& one : json.at("pooled"))
        decision.pooled.push_back(pooled_of(one));
    decision.measured = measured_of(json.at("measured"));
    json.at("decided").get_to(decision.decided);
    return decision;
}

} // namespace dropledger::batch
