#include "analysis/batch/certificate/certificate_json.hpp"

#include "analysis/base/text.hpp"
#include "analysis/batch/chain/entry_bodies.hpp"
#include "analysis/batch/runs/members.hpp"

#include <fmt/format.h>

#include <tuple>

namespace dropledger::batch {

using Json = nlohmann::json;

template <> struct Members<CertifiedJournal> {
    static constexpr std::tuple list{
        Member{"file", &CertifiedJournal::file}, Member{"opening", &CertifiedJournal::opening},
        Member{"head", &CertifiedJournal::head}, Member{"entries", &CertifiedJournal::entries}};
};

// The seed stands beside them, as a text: JSON readers elsewhere may not hold 64 bits.
template <> struct Members<Choice> {
    static constexpr std::tuple list{
        Word{"origin", &Choice::origin, seed_origin_names},
        Member{"commitment", &Choice::commitment}, Member{"bench_part", &Choice::bench_part},
        Member{"buyer_text", &Choice::buyer_text}, Member{"method", &Choice::method}};
};

template <> struct Members<CertifiedBatch> {
    static constexpr std::tuple list{Member{"id", &CertifiedBatch::id},
                                     Member{"opened", &CertifiedBatch::opened},
                                     Member{"rehearsal", &CertifiedBatch::rehearsal},
                                     Member{"size", &CertifiedBatch::size},
                                     Member{"serials_sha256", &CertifiedBatch::serials_sha256},
                                     Member{"serial_ranges", &CertifiedBatch::serial_ranges},
                                     Member{"choice", &CertifiedBatch::choice},
                                     Member{"chosen_at", &CertifiedBatch::chosen_at},
                                     Member{"chosen", &CertifiedBatch::chosen},
                                     Member{"history", &CertifiedBatch::history},
                                     Member{"resubmitted", &CertifiedBatch::resubmitted},
                                     Member{"pooled_runs", &CertifiedBatch::pooled_runs},
                                     Member{"journal", &CertifiedBatch::journal}};
};

template <> struct Members<CertifiedProfile> {
    static constexpr std::tuple list{Member{"name", &CertifiedProfile::name},
                                     Member{"sha256", &CertifiedProfile::sha256},
                                     Member{"text", &CertifiedProfile::text},
                                     Word{"mode", &CertifiedProfile::mode, droplog::mode_names},
                                     Member{"confidence", &CertifiedProfile::confidence},
                                     Member{"least_drops", &CertifiedProfile::least_drops},
                                     Member{"limits", &CertifiedProfile::limits}};
};

template <> struct Members<RiskPoint> {
    static constexpr std::tuple list{Member{"share", &RiskPoint::share},
                                     Member{"accept_probability", &RiskPoint::accept_probability}};
};

template <> struct Members<NamedRisks> {
    static constexpr std::tuple list{Member{"producers_risk", &NamedRisks::producer},
                                     Member{"consumers_risk", &NamedRisks::consumer}};
};

template <> struct Members<CertifiedPlan> {
    static constexpr std::tuple list{Word{"kind", &CertifiedPlan::kind, plan_kind_names},
                                     Member{"level", &CertifiedPlan::level},
                                     Member{"aql_percent", &CertifiedPlan::aql_percent},
                                     Word{"severity", &CertifiedPlan::severity, severity_names},
                                     Member{"severity_reason", &CertifiedPlan::severity_reason},
                                     Member{"letter", &CertifiedPlan::letter},
                                     Member{"n", &CertifiedPlan::n},
                                     Member{"accept", &CertifiedPlan::accept},
                                     Member{"reject", &CertifiedPlan::reject},
                                     Member{"computed", &CertifiedPlan::computed},
                                     Member{"samples", &CertifiedPlan::samples},
                                     Member{"measured", &CertifiedPlan::measured},
                                     Member{"k", &CertifiedPlan::k},
                                     Member{"risks", &CertifiedPlan::risks},
                                     Within{&CertifiedPlan::named}};
};

template <> struct Members<TakenOutTally> {
    static constexpr std::tuple list{Member{"runs", &TakenOutTally::runs},
                                     Member{"outside", &TakenOutTally::outside},
                                     Member{"units_outside", &TakenOutTally::units_outside},
                                     Member{"bound", &TakenOutTally::bound}};
};

template <> struct Members<PooledRuns> {
    static constexpr std::tuple list{Member{"unit", &PooledRuns::unit},
                                     Member{"files", &PooledRuns::files},
                                     Member{"limits", &PooledRuns::limits},
                                     Word{"outcome", &PooledRuns::outcome, verdict::outcome_names}};
};

template <> struct Members<MeasuredUnit> {
    static constexpr std::tuple list{Member{"unit", &MeasuredUnit::unit},
                                     Member{"value", &MeasuredUnit::value}};
};

template <> struct Members<MeasuredSample> {
    static constexpr std::tuple list{Member{"units", &MeasuredSample::units},
                                     Member{"mean", &MeasuredSample::mean},
                                     Member{"sd", &MeasuredSample::sd},
                                     Member{"criterion", &MeasuredSample::criterion},
                                     Member{"normality_p", &MeasuredSample::normality_p},
                                     Member{"outside_others", &MeasuredSample::outside_others},
                                     Member{"accepted", &MeasuredSample::accepted}};
};

template <> struct Members<CertifiedDecision> {
    static constexpr std::tuple list{
        Word{"outcome", &CertifiedDecision::outcome, lot_outcome_names},
        Member{"tested", &CertifiedDecision::tested},
        Member{"nonconforming", &CertifiedDecision::nonconforming},
        Member{"nonconforming_units", &CertifiedDecision::nonconforming_units},
        Member{"taken_out", &CertifiedDecision::taken_out},
        Member{"pooled", &CertifiedDecision::pooled},
        Member{"measured", &CertifiedDecision::measured},
        Member{"decided", &CertifiedDecision::decided}};
};

template <> struct Members<BatchStatistics> {
    static constexpr std::tuple list{
        Member{"units", &BatchStatistics::units},
        Member{"drops", &BatchStatistics::drops},
        Member{"misses", &BatchStatistics::misses},
        Member{"pooled_miss", &BatchStatistics::pooled_miss},
        Member{"nonconforming_share", &BatchStatistics::nonconforming_share},
        Member{"limit", &BatchStatistics::limit},
        Member{"share_outside", &BatchStatistics::share_outside},
        Member{"tarone_p", &BatchStatistics::tarone_p}};
};

template <> struct Members<CertifiedConditions> {
    static constexpr std::tuple list{Member{"conditions", &CertifiedConditions::conditions},
                                     Member{"runs", &CertifiedConditions::runs}};
};

template <> struct Members<CertifiedKey> {
    static constexpr std::tuple list{Member{"public_key", &CertifiedKey::public_key},
                                     Member{"logs", &CertifiedKey::logs},
                                     Member{"entries", &CertifiedKey::entries}};
};

template <> struct Members<MissingRuns> {
    static constexpr std::tuple list{Member{"public_key", &MissingRuns::public_key},
                                     Member{"first", &MissingRuns::first},
                                     Member{"last", &MissingRuns::last}};
};

template <> struct Members<ReportFacts> {
    static constexpr std::tuple list{Member{"number", &ReportFacts::number},
                                     Member{"issuer", &ReportFacts::issuer},
                                     Member{"place", &ReportFacts::place},
                                     Member{"client", &ReportFacts::client},
                                     Member{"product", &ReportFacts::product},
                                     Member{"authorised_by", &ReportFacts::authorised_by},
                                     Member{"deviations", &ReportFacts::deviations}};
};

template <> struct Members<Certificate> {
    static constexpr std::tuple list{Member{"id", &Certificate::id},
                                     Member{"issued", &Certificate::issued},
                                     Member{"valid_until", &Certificate::valid_until},
                                     Member{"program", &Certificate::program},
                                     Member{"report", &Certificate::report},
                                     Member{"replaces", &Certificate::replaces},
                                     Member{"batch", &Certificate::batch},
                                     Member{"profile", &Certificate::profile},
                                     Member{"plan", &Certificate::plan},
                                     Member{"decision", &Certificate::decision},
                                     Member{"statistics", &Certificate::statistics},
                                     Member{"runs", &Certificate::runs},
                                     Member{"calibrations", &Certificate::calibrations},
                                     Member{"conditions", &Certificate::conditions},
                                     Member{"keys", &Certificate::keys},
                                     Member{"missing_runs", &Certificate::missing_runs},
                                     Member{"tested_from", &Certificate::tested_from},
                                     Member{"tested_to", &Certificate::tested_to},
                                     Member{"remarks", &Certificate::remarks},
                                     Member{"not_said", &Certificate::not_said},
                                     Member{"cautions", &Certificate::cautions},
                                     Member{"pages_sha256", &Certificate::pages_sha256},
                                     Member{"public_key", &Certificate::public_key},
                                     Member{"signature", &Certificate::signature}};
};

Json json_of(const Certificate& certificate) {
    Json json = written(certificate);
    json["schema"] = certificate_schema;
    const auto& seed = certificate.batch.choice.seed;
    json["batch"]["choice"]["seed"] = seed ? fmt::format("{}", *seed) : "";
    return json;
}

Certificate certificate_in(const Json& json) {
    auto certificate = read_as<Certificate>(json);
    const Json& choice = json.at("batch").at("choice");
    certificate.batch.choice.seed = parse_uint(choice.at("seed").get<std::string>());
    return certificate;
}

} // namespace dropledger::batch
