#include "analysis/batch/runs/json_parts.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/base/text.hpp"
#include "analysis/measures/quantity.hpp"

#include <fmt/format.h>

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

struct ConditionKey {
    const char* key;
    std::string RunConditions::*member;
};
constexpr std::array<ConditionKey, 11> condition_keys{
    {{"bench", &RunConditions::bench},
     {"operator", &RunConditions::operated_by},
     {"firmware", &RunConditions::firmware},
     {"crop", &RunConditions::crop},
     {"seed_lot", &RunConditions::seed_lot},
     {"thousand_seed_mass_mg", &RunConditions::thousand_seed_mass_mg},
     {"mode", &RunConditions::mode},
     {"spacing_um", &RunConditions::spacing_um},
     {"count", &RunConditions::count},
     {"rate_per_m_milli", &RunConditions::rate_per_m_milli},
     {"speed_um_s", &RunConditions::speed_um_s}}};

std::optional<TakenOut> taken_out_of(const Json& json) {
    if (json.is_null())
        return std::nullopt;
    TakenOut taken;
    taken.cause = word_in(void_cause_names, json, "cause");
    json.at("text").get_to(taken.text);
    json.at("at").get_to(taken.at);
    return taken;
}

Json boots_json(const std::vector<BootSpan>& boots) {
    Json list = Json::array();
    for (const BootSpan& one : boots)
        list.push_back(
            {{"boot", one.boot}, {"first_seq", one.first_seq}, {"last_seq", one.last_seq}});
    return list;
}

void check_counts(const TestedRun& run) {
    if (run.misses < 0 || run.misses > run.drops || run.drops > most_drops)
        throw std::out_of_range("run " + run.run + " states counts that cannot be");
}

} // namespace

std::string text_of(const verdict::Limit& limit) {
    return fmt::format("{} {} {}", key_of(limit.quantity),
                       row_in(measures::senses, limit.sense()).words, limit.value);
}

verdict::Limit limit_in(const std::string& text) {
    const std::size_t key_end = text.find(' ');
    const auto quantity = measures::quantity_of(text.substr(0, key_end));
    const auto value = parse_double(std::string_view(text).substr(text.rfind(' ') + 1));
    if (quantity && value && measures::row_of(*quantity).good)
        if (const verdict::Limit limit{*quantity, *value}; text_of(limit) == text)
            return limit;
    throw std::out_of_range("no limit is '" + text + "'");
}

Json json_of(const LimitResult& result) {
    return {{"limit", text_of(result.limit)},
            {"estimate", estimate_json<Json>(result.estimate)},
            {"outcome", verdict::name_of(result.outcome)}};
}

LimitResult limit_result_of(const Json& json) {
    return {limit_in(json.at("limit").get<std::string>()), estimate_of(json.at("estimate")),
            word_in(verdict::outcome_names, json, "outcome")};
}

Json json_of(const RunConditions& conditions) {
    Json json = Json::object();
    for (const ConditionKey& one : condition_keys)
        json[one.key] = conditions.*one.member;
    return json;
}

RunConditions conditions_of(const Json& json) {
    RunConditions conditions;
    for (const ConditionKey& one : condition_keys)
        json.at(one.key).get_to(conditions.*one.member);
    return conditions;
}

Json json_of(const TestedRun& run) {
    Json taken = nullptr;
    if (run.taken_out)
        taken = {{"cause", row_in(void_cause_names, run.taken_out->cause).key},
                 {"text", run.taken_out->text},
                 {"at", run.taken_out->at}};
    return {{"unit", run.unit},
            {"channel", run.channel},
            {"run", run.run},
            {"file", run.file},
            {"sha256", run.sha256},
            {"last_seal", run.last_seal},
            {"signed_by", run.signed_by},
            {"started", run.started},
            {"ended", run.ended},
            {"boots", boots_json(run.boots)},
            {"stream", run.stream},
            {"run_number", or_null<Json>(run.run_number)},
            {"previous_seal", run.previous_seal},
            {"simulated", run.simulated},
            {"conditions", json_of(run.conditions)},
            {"calibrations", run.calibrations},
            {"calibrated", run.calibrated},
            {"whole", run.whole},
            {"outcome", verdict::name_of(run.outcome)},
            {"held_back", row_in(held_back_names, run.held_back).key},
            {"drops", run.drops},
            {"misses", run.misses},
            {"corrected_miss", estimate_json<Json>(run.corrected_miss)},
            {"limits", list_of(run.limits)},
            {"taken_out", std::move(taken)},
            {"reason", run.reason}};
}

TestedRun run_of(const Json& json) {
    TestedRun run;
    json.at("unit").get_to(run.unit);
    json.at("channel").get_to(run.channel);
    json.at("run").get_to(run.run);
    json.at("file").get_to(run.file);
    json.at("sha256").get_to(run.sha256);
    json.at("last_seal").get_to(run.last_seal);
    json.at("signed_by").get_to(run.signed_by);
    json.at("started").get_to(run.started);
    json.at("ended").get_to(run.ended);
    for (const Json& one : json.at("boots"))
        run.boots.push_back({one.at("boot").get<std::string>(),
                             one.at("first_seq").get<std::int64_t>(),
                             one.at("last_seq").get<std::int64_t>()});
    json.at("stream").get_to(run.stream);
    if (!json.at("run_number").is_null())
        run.run_number = json.at("run_number").get<std::int64_t>();
    json.at("previous_seal").get_to(run.previous_seal);
    json.at("simulated").get_to(run.simulated);
    run.conditions = conditions_of(json.at("conditions"));
    json.at("calibrations").get_to(run.calibrations);
    json.at("calibrated").get_to(run.calibrated);
    json.at("whole").get_to(run.whole);
    run.outcome = word_in(verdict::outcome_names, json, "outcome");
    run.held_back = word_in(held_back_names, json, "held_back");
    json.at("drops").get_to(run.drops);
    json.at("misses").get_to(run.misses);
    run.corrected_miss = estimate_of(json.at("corrected_miss"));
    for (const Json& one : json.at("limits"))
        run.limits.push_back(limit_result_of(one));
    run.taken_out = taken_out_of(json.at("taken_out"));
    json.at("reason").get_to(run.reason);
    check_counts(run);
    return run;
}

Json json_of(const UsedCalibration& calibration) {
    return {{"id", calibration.id},
            {"file", calibration.file},
            {"sha256", calibration.sha256},
            {"expires", calibration.expires},
            {"holds_for", calibration.holds_for},
            {"efficiency", estimate_json<Json>(calibration.found.efficiency)},
            {"found_by", calibration.found.found_by},
            {"rests_on", row_in(rests_on_names, calibration.found.rests_on).key},
            {"figures", calibration.found.figures},
            {"inputs", calibration.found.inputs}};
}

UsedCalibration calibration_of(const Json& json) {
    UsedCalibration calibration;
    json.at("id").get_to(calibration.id);
    json.at("file").get_to(calibration.file);
    json.at("sha256").get_to(calibration.sha256);
    json.at("expires").get_to(calibration.expires);
    json.at("holds_for").get_to(calibration.holds_for);
    calibration.found.efficiency = estimate_of(json.at("efficiency"));
    json.at("found_by").get_to(calibration.found.found_by);
    calibration.found.rests_on = word_in(rests_on_names, json, "rests_on");
    json.at("figures").get_to(calibration.found.figures);
    json.at("inputs").get_to(calibration.found.inputs);
    return calibration;
}

} // namespace dropledger::batch
