#include "analysis/batch/certificate.hpp"

#include "analysis/base/readers/canonical_json.hpp"
#include "analysis/base/readers/json_reader.hpp"
#include "analysis/base/readers/or_null.hpp"
#include "analysis/base/text.hpp"
#include "analysis/batch/json_parts.hpp"

#include <fmt/format.h>

#include <exception>

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

constexpr const char* schema = "dropledger/certificate/1";

Json json_of(const CertifiedBatch& batch) {
    return {{"id", batch.id},        {"opened", batch.opened},
            {"size", batch.size},    {"serials_sha256", batch.serials_sha256},
            {"seed", batch.seed},    {"choice_method", batch.choice_method},
            {"chosen", batch.chosen}};
}

CertifiedBatch batch_of(const Json& json) {
    CertifiedBatch batch;
    json.at("id").get_to(batch.id);
    json.at("opened").get_to(batch.opened);
    json.at("size").get_to(batch.size);
    json.at("serials_sha256").get_to(batch.serials_sha256);
    json.at("seed").get_to(batch.seed);
    json.at("choice_method").get_to(batch.choice_method);
    json.at("chosen").get_to(batch.chosen);
    return batch;
}

// "miss_index at most 0.05"
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

Json json_of(const CertifiedProfile& profile) {
    Json limits = Json::array();
    for (const verdict::Limit& limit : profile.limits)
        limits.push_back(text_of(limit));
    return {{"name", profile.name},
            {"sha256", profile.sha256},
            {"mode", name_of(profile.mode)},
            {"limits", std::move(limits)}};
}

CertifiedProfile profile_of(const Json& json) {
    CertifiedProfile profile;
    json.at("name").get_to(profile.name);
    json.at("sha256").get_to(profile.sha256);
    profile.mode = word_in(droplog::mode_names, json, "mode");
    for (const Json& limit : json.at("limits"))
        profile.limits.push_back(limit_in(limit.get<std::string>()));
    return profile;
}

Json json_of(const CertifiedPlan& plan) {
    Json risks = Json::array();
    for (const RiskPoint& point : plan.risks)
        risks.push_back({{"share", point.share}, {"accept_probability", point.accept_probability}});
    return {{"kind", word_of(plan.kind)},
            {"level", plan.level},
            {"aql_percent", or_null<Json>(plan.aql_percent)},
            {"severity", plan.severity ? word_of(*plan.severity) : ""},
            {"severity_reason", plan.severity_reason},
            {"letter", plan.letter},
            {"n", plan.n},
            {"accept", plan.accept},
            {"reject", plan.reject},
            {"risks", std::move(risks)}};
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
    for (const Json& point : json.at("risks"))
        plan.risks.push_back({.share = point.at("share").get<double>(),
                              .accept_probability = point.at("accept_probability").get<double>()});
    return plan;
}

Json json_of(const CertifiedDecision& decision) {
    return {{"outcome", word_of(decision.outcome)},
            {"tested", decision.tested},
            {"nonconforming", decision.nonconforming},
            {"nonconforming_units", decision.nonconforming_units},
            {"decided", decision.decided}};
}

CertifiedDecision decision_of(const Json& json) {
    CertifiedDecision decision;
    decision.outcome = word_in(lot_outcome_names, json, "outcome");
    json.at("tested").get_to(decision.tested);
    json.at("nonconforming").get_to(decision.nonconforming);
    json.at("nonconforming_units").get_to(decision.nonconforming_units);
    json.at("decided").get_to(decision.decided);
    return decision;
}

Json json_of(const CertifiedStatistics& statistics) {
    return {{"units", statistics.units},
            {"drops", statistics.drops},
            {"misses", statistics.misses},
            {"pooled_miss", estimate_json<Json>(statistics.pooled_miss)},
            {"nonconforming_share", estimate_json<Json>(statistics.nonconforming_share)},
            {"limit", or_null<Json>(statistics.limit)},
            {"share_outside", estimate_json<Json>(statistics.share_outside)},
            {"tarone_p", or_null<Json>(statistics.tarone_p)}};
}

CertifiedStatistics statistics_of(const Json& json) {
    CertifiedStatistics statistics;
    json.at("units").get_to(statistics.units);
    json.at("drops").get_to(statistics.drops);
    json.at("misses").get_to(statistics.misses);
    statistics.pooled_miss = estimate_of(json.at("pooled_miss"));
    statistics.nonconforming_share = estimate_of(json.at("nonconforming_share"));
    statistics.limit = optional_number(json.at("limit"));
    statistics.share_outside = estimate_of(json.at("share_outside"));
    statistics.tarone_p = optional_number(json.at("tarone_p"));
    return statistics;
}

template <class Item> Json list_of(const std::vector<Item>& items) {
    Json list = Json::array();
    for (const Item& item : items)
        list.push_back(json_of<Json>(item));
    return list;
}

Json json_of(const Certificate& certificate) {
    return {{"schema", schema},
            {"id", certificate.id},
            {"issued", certificate.issued},
            {"valid_until", certificate.valid_until},
            {"program", certificate.program},
            {"batch", json_of(certificate.batch)},
            {"profile", json_of(certificate.profile)},
            {"plan", json_of(certificate.plan)},
            {"decision", json_of(certificate.decision)},
            {"statistics", json_of(certificate.statistics)},
            {"runs", list_of(certificate.runs)},
            {"calibrations", list_of(certificate.calibrations)},
            {"not_said", certificate.not_said},
            {"cautions", certificate.cautions},
            {"public_key", certificate.public_key},
            {"signature", certificate.signature}};
}

Certificate certificate_of(const Json& json) {
    Certificate certificate;
    json.at("id").get_to(certificate.id);
    json.at("issued").get_to(certificate.issued);
    json.at("valid_until").get_to(certificate.valid_until);
    json.at("program").get_to(certificate.program);
    certificate.batch = batch_of(json.at("batch"));
    certificate.profile = profile_of(json.at("profile"));
    certificate.plan = plan_of(json.at("plan"));
    certificate.decision = decision_of(json.at("decision"));
    certificate.statistics = statistics_of(json.at("statistics"));
    for (const Json& run : json.at("runs"))
        certificate.runs.push_back(run_of(run));
    for (const Json& calibration : json.at("calibrations"))
        certificate.calibrations.push_back(calibration_of(calibration));
    json.at("not_said").get_to(certificate.not_said);
    json.at("cautions").get_to(certificate.cautions);
    json.at("public_key").get_to(certificate.public_key);
    json.at("signature").get_to(certificate.signature);
    return certificate;
}

Result<std::string> to_be_signed(Json json) {
    json.erase("signature");
    return canonical(json);
}

} // namespace

Result<Certificate> signed_with(const droplog::PrivateKey& key, Certificate certificate) {
    certificate.public_key = droplog::to_hex(droplog::public_key_of(key));
    const auto message = to_be_signed(json_of(certificate));
    if (!message)
        return message.error();
    certificate.signature = droplog::to_hex(droplog::sign(key, *message));
    return certificate;
}

Result<std::string> to_text(const Certificate& certificate) {
    return canonical(json_of(certificate));
}

Result<Certificate> parse_certificate(std::string_view text, const std::string& where) {
    const auto refused = [&](std::string what) {
        return input_error(where, std::move(what),
                           "name a certificate that `dropledger batch certificate` wrote");
    };
    const auto found = read_json(text, where);
    if (!found)
        return refused(found.error().what);
    const Json& json = *found;
    if (!json.is_object() || json.value("schema", Json()) != schema)
        return refused(fmt::format("it is not a certificate of this version ({})", schema));
    try {
        return certificate_of(json);
    } catch (const BrokenInvariant&) {
        throw;
    } catch (const std::exception& problem) {
        return refused(fmt::format("it is not a whole certificate: {}", problem.what()));
    }
}

bool is_canonical(std::string_view text) {
    const auto json = read_json(text, "");
    if (!json)
        return false;
    const auto form = canonical(*json);
    return form && *form == text;
}

bool signature_holds(std::string_view text) {
    const auto found = read_json(text, "");
    if (!found)
        return false;
    const Json& json = *found;
    if (!json.is_object() || !json.contains("public_key") || !json.contains("signature") ||
        !json.at("public_key").is_string() || !json.at("signature").is_string())
        return false;
    const auto& key_text = json.at("public_key").get_ref<const std::string&>();
    const auto& signature_text = json.at("signature").get_ref<const std::string&>();
    const auto key = droplog::from_hex<32>(key_text);
    const auto signature = droplog::from_hex<64>(signature_text);
    // Capitals would be the same signature in other bytes.
    if (!key || !signature || droplog::to_hex(*signature) != signature_text)
        return false;
    const auto message = to_be_signed(json);
    return message && droplog::verifies(*key, *signature, *message);
}

} // namespace dropledger::batch
