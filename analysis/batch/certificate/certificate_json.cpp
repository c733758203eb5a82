#include "analysis/batch/certificate/certificate_json.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/base/text.hpp"
#include "analysis/batch/certificate/decision_json.hpp"
#include "analysis/batch/runs/json_parts.hpp"

#include <fmt/format.h>

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

Json json_of(const CertifiedJournal& journal) {
    return {{"file", journal.file},
            {"opening", journal.opening},
            {"head", journal.head},
            {"entries", journal.entries}};
}

Json choice_json(const CertifiedBatch& batch) {
    const Choice& choice = batch.choice;
    return {{"origin", row_in(seed_origin_names, choice.origin).key},
            {"seed", choice.seed ? fmt::format("{}", *choice.seed) : ""},
            {"commitment", choice.commitment},
            {"bench_part", choice.bench_part},
            {"buyer_text", choice.buyer_text},
            {"method", batch.choice_method}};
}

Choice choice_of(const Json& json) {
    Choice choice;
    choice.origin = word_in(seed_origin_names, json, "origin");
    choice.seed = parse_uint(json.at("seed").get<std::string>());
    json.at("commitment").get_to(choice.commitment);
    json.at("bench_part").get_to(choice.bench_part);
    json.at("buyer_text").get_to(choice.buyer_text);
    return choice;
}

Json earlier_json(const EarlierBatch& earlier) {
    return {{"id", earlier.id}, {"head", earlier.head}};
}

EarlierBatch earlier_of(const Json& json) {
    return {json.at("id").get<std::string>(), json.at("head").get<std::string>()};
}

Json json_of(const CertifiedBatch& batch) {
    Json history = Json::array();
    for (const EarlierBatch& one : batch.history)
        history.push_back(earlier_json(one));
    return {{"id", batch.id},
            {"opened", batch.opened},
            {"rehearsal", batch.rehearsal},
            {"size", batch.size},
            {"serials_sha256", batch.serials_sha256},
            {"serial_ranges", batch.serial_ranges},
            {"choice", choice_json(batch)},
            {"chosen_at", batch.chosen_at},
            {"chosen", batch.chosen},
            {"history", std::move(history)},
            {"resubmitted", batch.resubmitted ? earlier_json(*batch.resubmitted) : Json(nullptr)},
            {"pooled_runs", or_null<Json>(batch.pooled_runs)},
            {"journal", json_of(batch.journal)}};
}

CertifiedBatch batch_of(const Json& json) {
    CertifiedBatch batch;
    json.at("id").get_to(batch.id);
    json.at("opened").get_to(batch.opened);
    json.at("rehearsal").get_to(batch.rehearsal);
    json.at("size").get_to(batch.size);
    json.at("serials_sha256").get_to(batch.serials_sha256);
    json.at("serial_ranges").get_to(batch.serial_ranges);
    batch.choice = choice_of(json.at("choice"));
    json.at("choice").at("method").get_to(batch.choice_method);
    json.at("chosen_at").get_to(batch.chosen_at);
    json.at("chosen").get_to(batch.chosen);
    for (const Json& one : json.at("history"))
        batch.history.push_back(earlier_of(one));
    if (!json.at("resubmitted").is_null())
        batch.resubmitted = earlier_of(json.at("resubmitted"));
    if (!json.at("pooled_runs").is_null())
        batch.pooled_runs = json.at("pooled_runs").get<std::int64_t>();
    const Json& journal = json.at("journal");
    batch.journal = {
        journal.at("file").get<std::string>(), journal.at("opening").get<std::string>(),
        journal.at("head").get<std::string>(), journal.at("entries").get<std::int64_t>()};
    return batch;
}

Json json_of(const CertifiedProfile& profile) {
    Json limits = Json::array();
    for (const verdict::Limit& limit : profile.limits)
        limits.push_back(text_of(limit));
    return {{"name", profile.name},
            {"sha256", profile.sha256},
            {"text", profile.text},
            {"mode", name_of(profile.mode)},
            {"confidence", profile.confidence},
            {"least_drops", profile.least_drops},
            {"limits", std::move(limits)}};
}

CertifiedProfile profile_of(const Json& json) {
    CertifiedProfile profile;
    json.at("name").get_to(profile.name);
    json.at("sha256").get_to(profile.sha256);
    json.at("text").get_to(profile.text);
    json.at("confidence").get_to(profile.confidence);
    json.at("least_drops").get_to(profile.least_drops);
    profile.mode = word_in(droplog::mode_names, json, "mode");
    for (const Json& limit : json.at("limits"))
        profile.limits.push_back(limit_in(limit.get<std::string>()));
    return profile;
}

Json json_of(const BatchStatistics& statistics) {
    return {{"units", statistics.units},
            {"drops", statistics.drops},
            {"misses", statistics.misses},
            {"pooled_miss", estimate_json<Json>(statistics.pooled_miss)},
            {"nonconforming_share", estimate_json<Json>(statistics.nonconforming_share)},
            {"limit", or_null<Json>(statistics.limit)},
            {"share_outside", estimate_json<Json>(statistics.share_outside)},
            {"tarone_p", or_null<Json>(statistics.tarone_p)}};
}

BatchStatistics statistics_of(const Json& json) {
    BatchStatistics statistics;
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

Json json_of(const CertifiedConditions& one) {
    return {{"conditions", json_of(one.conditions)}, {"runs", one.runs}};
}
Json json_of(const CertifiedKey& key) {
    return {{"public_key", key.public_key}, {"logs", key.logs}, {"entries", key.entries}};
}
Json json_of(const MissingRuns& missing) {
    return {{"public_key", missing.public_key}, {"first", missing.first}, {"last", missing.last}};
}

Json json_of(const ReportFacts& report) {
    return {{"number", report.number},        {"issuer", report.issuer},
            {"place", report.place},          {"client", report.client},
            {"product", report.product},      {"authorised_by", report.authorised_by},
            {"deviations", report.deviations}};
}

ReportFacts report_of(const Json& json) {
    ReportFacts report;
    json.at("number").get_to(report.number);
    json.at("issuer").get_to(report.issuer);
    json.at("place").get_to(report.place);
    json.at("client").get_to(report.client);
    json.at("product").get_to(report.product);
    json.at("authorised_by").get_to(report.authorised_by);
    json.at("deviations").get_to(report.deviations);
    return report;
}

Json json_of(const Revocation& taken) {
    return {{"certificate", taken.certificate},
            {"sha256", taken.sha256},
            {"cause", row_in(revocation_cause_names, taken.cause).key},
            {"text", taken.text},
            {"at", taken.at}};
}

Revocation revocation_of(const Json& json) {
    return {json.at("certificate").get<std::string>(), json.at("sha256").get<std::string>(),
            word_in(revocation_cause_names, json, "cause"), json.at("text").get<std::string>(),
            json.at("at").get<std::string>()};
}

template <class Item> Json items_json(const std::vector<Item>& items) {
    Json list = Json::array();
    for (const Item& item : items)
        list.push_back(json_of(item));
    return list;
}

void take_lists(const Json& json, Certificate& certificate) {
    for (const Json& run : json.at("runs"))
        certificate.runs.push_back(run_of(run));
    for (const Json& calibration : json.at("calibrations"))
        certificate.calibrations.push_back(calibration_of(calibration));
    for (const Json& one : json.at("conditions"))
        certificate.conditions.push_back(
            {conditions_of(one.at("conditions")), one.at("runs").get<std::int64_t>()});
    for (const Json& key : json.at("keys"))
        certificate.keys.push_back({key.at("public_key").get<std::string>(),
                                    key.at("logs").get<std::int64_t>(),
                                    key.at("entries").get<std::int64_t>()});
    for (const Json& missing : json.at("missing_runs"))
        certificate.missing_runs.push_back({missing.at("public_key").get<std::string>(),
                                            missing.at("first").get<std::int64_t>(),
                                            missing.at("last").get<std::int64_t>()});
}

} // namespace

Json json_of(const Certificate& certificate) {
    return {{"schema", certificate_schema},
            {"id", certificate.id},
            {"issued", certificate.issued},
            {"valid_until", certificate.valid_until},
            {"program", certificate.program},
            {"report", json_of(certificate.report)},
            {"replaces", items_json(certificate.replaces)},
            {"batch", json_of(certificate.batch)},
            {"profile", json_of(certificate.profile)},
            {"plan", json_of(certificate.plan)},
            {"decision", json_of(certificate.decision)},
            {"statistics", json_of(certificate.statistics)},
            {"runs", list_of(certificate.runs)},
            {"calibrations", list_of(certificate.calibrations)},
            {"conditions", items_json(certificate.conditions)},
            {"keys", items_json(certificate.keys)},
            {"missing_runs", items_json(certificate.missing_runs)},
            {"tested_from", certificate.tested_from},
            {"tested_to", certificate.tested_to},
            {"remarks", certificate.remarks},
            {"not_said", certificate.not_said},
            {"cautions", certificate.cautions},
            {"pages_sha256", certificate.pages_sha256},
            {"public_key", certificate.public_key},
            {"signature", certificate.signature}};
}

Certificate certificate_in(const Json& json) {
    Certificate certificate;
    json.at("id").get_to(certificate.id);
    json.at("issued").get_to(certificate.issued);
    json.at("valid_until").get_to(certificate.valid_until);
    json.at("program").get_to(certificate.program);
    certificate.report = report_of(json.at("report"));
    for (const Json& one : json.at("replaces"))
        certificate.replaces.push_back(revocation_of(one));
    certificate.batch = batch_of(json.at("batch"));
    certificate.profile = profile_of(json.at("profile"));
    certificate.plan = plan_of(json.at("plan"));
    certificate.decision = decision_of(json.at("decision"));
    certificate.statistics = statistics_of(json.at("statistics"));
    take_lists(json, certificate);
    json.at("tested_from").get_to(certificate.tested_from);
    json.at("tested_to").get_to(certificate.tested_to);
    json.at("remarks").get_to(certificate.remarks);
    json.at("not_said").get_to(certificate.not_said);
    json.at("cautions").get_to(certificate.cautions);
    json.at("pages_sha256").get_to(certificate.pages_sha256);
    json.at("public_key").get_to(certificate.public_key);
    json.at("signature").get_to(certificate.signature);
    return certificate;
}

} // namespace dropledger::batch
