#include "analysis/report/json/audit_json.hpp"

#include "analysis/audit/series.hpp"
#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "analysis/report/json/integrity_json.hpp"
#include "analysis/report/words/sensor_sentences.hpp"
#include "analysis/report/words/wording.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::report {

namespace {

using Json = nlohmann::ordered_json;
using Estimated = std::optional<statistics::Estimate>;

constexpr const char* schema = "dropledger/audit/1";
constexpr const char* several_schema = "dropledger/audit-several/1";

Json ledger_json(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    if (report.from_spacings)
        return nullptr;
    const audit::CommandedDrops* const drops = channel.drops();
    const measures::LedgerTable t = drops != nullptr ? drops->table : measures::LedgerTable{};
    const auto in_mode = [mode = channel.mode()](ledger::Mode of, std::int64_t count) {
        return mode == of ? Json(count) : Json(nullptr);
    };
    return {{"drops", t.drops},
            {"pulses", channel.pulses},
            {"seeds", t.seeds},
            {"single", in_mode(ledger::Mode::single, t.single)},
            {"multiple", in_mode(ledger::Mode::single, t.multiple)},
            {"miss", in_mode(ledger::Mode::single, t.miss)},
            {"stray", t.strays},
            {"rejected_pulses", channel.rejected_pulses},
            {"empty", in_mode(ledger::Mode::portion, t.empty)},
            {"short", in_mode(ledger::Mode::portion, t.shorted)},
            {"exact", in_mode(ledger::Mode::portion, t.exact)},
            {"over", in_mode(ledger::Mode::portion, t.over)},
            {"balanced", t.balanced()}};
}

Json cp3_json(const measures::Cp3& cp3) {
    return {{"estimate", estimate_json(cp3.share)},
            {"centre_mm", cp3.centre_mm},
            {"inside", cp3.inside}};
}

Json spacing_json(const measures::SpacingResult* spacing) {
    if (spacing == nullptr)
        return nullptr;
    return {{"theoretical_mm", mm_of(spacing->reference_um)},
            {"count", spacing->counts.spacings()},
            {"classes", spacing->counts.classes},
            {"multiples_index", estimate_json(spacing->iso.multiples)},
            {"miss_index", estimate_json(spacing->iso.misses)},
            {"quality_of_feed_index", estimate_json(spacing->iso.quality_of_feed)},
            {"precision", estimate_json(spacing->precision)},
            {"per_spacing",
             {{"multiples", estimate_json(spacing->per_spacing.multiples)},
              {"misses", estimate_json(spacing->per_spacing.misses)},
              {"quality_of_feed", estimate_json(spacing->per_spacing.quality_of_feed)}}},
            {"mean_mm", estimate_json(spacing->mean_mm)},
            {"sd_mm", estimate_json(spacing->sd_mm)},
            {"histogram", {{"class_width", 0.1}, {"counts", spacing->histogram}}},
            {"beyond_histogram", spacing->beyond_histogram},
            {"cp3_reference", cp3_json(spacing->cp3_about_reference)},
            {"cp3_fullest_band", cp3_json(spacing->cp3_fullest_band)}};
}

Json placement_json(const measures::PlacementResult* placement) {
    if (placement == nullptr)
        return nullptr;
    return {{"offset_mm", estimate_json(placement->offset_mm)},
            {"bias_mm", estimate_json(placement->bias_mm)},
            {"sd_mm", estimate_json(placement->sd_mm)},
            {"p95_abs_mm", estimate_json(placement->p95_abs_mm)},
            {"within_allowance", estimate_json(placement->within_allowance)}};
}

Json portion_json(const audit::Portions* portions) {
    if (portions == nullptr || !portions->portion)
        return nullptr;
    const measures::PortionResult& portion = *portions->portion;
    return {{"mean_count", estimate_json(portion.mean_count)},
            {"exact_share", estimate_json(portion.exact_share)},
            {"spread_mm", estimate_json(portion.spread_mm)},
            {"count_distribution", portion.count_distribution},
            {"length_histogram",
             {{"class_width_mm", mm_of(measures::PortionResult::length_class_um)},
              {"counts", portion.length_distribution}}}};
}

void add_dispersion_test(Json& json, const std::optional<statistics::Dispersion>& dispersion) {
    json["chi_squared"] = dispersion ? Json(dispersion->chi_squared) : Json(nullptr);
    json["degrees_of_freedom"] = dispersion ? Json(dispersion->degrees) : Json(nullptr);
    json["p_clustered"] = dispersion ? Json(dispersion->p_clustered) : Json(nullptr);
    json["p_even"] = dispersion ? Json(dispersion->p_even) : Json(nullptr);
}

Json line_json(const measures::LineResult* line) {
    if (line == nullptr)
        return nullptr;
    Json json{{"segment_mm", mm_of(line->segment_um)},
              {"segments", line->segments},
              {"seeds", line->seeds},
              {"mean_per_m", estimate_json(line->mean_per_m)},
              {"cv", estimate_json(line->cv)},
              {"dispersion_index", estimate_json(line->dispersion_index)},
              {"rate_error", estimate_json(line->rate_error)},
              {"longest_gap_mm", mm_of(line->longest_gap_um)}};
    add_dispersion_test(json, line->dispersion);
    json["count_distribution"] = line->count_distribution;
    return json;
}

Json sensor_json(const audit::ChannelReport& channel) {
    const audit::Sensor& sensor = channel.sensor;
    Json pulses = Json::object();
    for (const auto& [gate, count] : sensor.pulses_by_gate)
        pulses[std::to_string(gate)] = count;
    Json corrections = Json::array();
    for (const audit::SensorCorrection& one : sensor.corrections)
        corrections.push_back({{"name", key_of(one.quantity)},
                               {"observed", estimate_json(one.observed)},
                               {"corrected", estimate_json(one.corrected.estimate)}});
    return {{"efficiency", estimate_json(sensor.efficiency)},
            {"found_by", sensor.source.found_by},
            {"assumption", sensor.source.assumption},
            {"empty_drops", sensor.empty_drops ? Json{{"low", sensor.empty_drops->low},
                                                      {"high", sensor.empty_drops->high}}
                                               : Json(nullptr)},
            {"corrected_miss", estimate_json(sensor.corrected_miss)},
            {"corrections", std::move(corrections)},
            {"judges_corrected", sensor.judges_corrected},
            {"outcome_as_seen", sensor.outcome_as_seen
                                    ? Json(verdict::name_of(*sensor.outcome_as_seen))
                                    : Json(nullptr)},
            {"explanation", sensor_sentences(channel)},
            {"pulses_by_gate", pulses}};
}

Json criterion_json(const audit::AuditReport& report, const verdict::Criterion& criterion) {
    return {{"name", key_of(criterion.limit.quantity)},
            {"limit", criterion.limit.value},
            {"sense", row_in(measures::senses, criterion.limit.sense()).key},
            {"outcome", verdict::name_of(criterion.outcome)},
            {"more_drops", criterion.more_drops},
            {"more_minutes", or_null(more_minutes(report, criterion))},
            {"estimate", estimate_json(criterion.estimate)},
            {"reason", criterion.reason}};
}

Json verdict_json(const audit::AuditReport& report, const verdict::Judgement& judgement) {
    Json criteria = Json::array();
    for (const verdict::Criterion& criterion : judgement.criteria)
        criteria.push_back(criterion_json(report, criterion));
    return {{"outcome", verdict::name_of(judgement.outcome)},
            {"criteria", std::move(criteria)},
            {"reason", judgement.reason}};
}

Json independence_json(const measures::Independence& independence) {
    return {{"holds", independence.holds},
            {"runs_p", independence.runs_p},
            {"clustered_p", independence.clustered_p},
            {"inflation", independence.inflation}};
}

Json test_json(const std::optional<audit::SequentialResult>& result) {
    if (!result)
        return nullptr;
    return {{"decision", verdict::name_of(result->path.decision())},
            {"drops", result->path.decided_after()},
            {"hits", result->path.hits_then()},
            {"ended_run", result->ended_run},
            {"share", estimate_json(result->share)}};
}

Json sequential_json(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr || (!drops->miss_test && !drops->multiples_test))
        return nullptr;
    return {{"rule", verdict::remarks_of(report.stopping_rule)},
            {"miss", test_json(drops->miss_test)},
            {"multiples", test_json(drops->multiples_test)}};
}

Json causes_json(const std::vector<causes::Cause>& causes) {
    Json json = Json::array();
    for (const causes::Cause& cause : causes)
        json.push_back({{"kind", key_of(cause.kind)},
                        {"p_value", cause.p_value},
                        {"evidence", cause.evidence},
                        {"look_at", cause.look_at},
                        {"drops", cause.drops}});
    return json;
}

// Null in the columns of the other mode.
Json shares_json(const audit::ChannelReport& channel) {
    const auto* const single = channel.single();
    const auto* const portions = channel.portions();
    const auto singles = single != nullptr ? single->shares : measures::SingleShares{};
    const auto counts = portions != nullptr ? portions->shares : measures::PortionShares{};
    return {{"miss_share", estimate_json(singles.miss)},
            {"single_share", estimate_json(singles.single)},
            {"multiple_share", estimate_json(singles.multiple)},
            {"empty_share", estimate_json(counts.empty)},
            {"short_share", estimate_json(counts.shorted)},
            {"exact_share", estimate_json(counts.exact)},
            {"over_share", estimate_json(counts.over)}};
}

// Of a channel without commanded drops: nothing that could hang together.
Json independence_json(const audit::ChannelReport& channel) {
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr)
        return nullptr;
    return {{"misses", independence_json(drops->misses_independence)},
            {"multiples", independence_json(drops->multiples_independence)}};
}

Json gates_json(const std::optional<audit::GateComparison>& gates) {
    if (!gates)
        return nullptr;
    return {{"other_gate", gates->other_gate},
            {"judging_seeds", gates->judging_seeds},
            {"other_seeds", gates->other_seeds},
            {"judging_efficiency", estimate_json(gates->judging_efficiency)},
            {"other_efficiency", estimate_json(gates->other_efficiency)},
            {"assumption", gates->assumption},
            {"judge_suspect", gates->judge_suspect}};
}

Json contradictions_json(const std::vector<audit::Contradicted>& contradictions) {
    Json json = Json::array();
    for (const audit::Contradicted& found : contradictions)
        json.push_back({{"kind", audit::key_of(found.kind)},
                        {"channel", or_null(found.channel)},
                        {"what", found.what},
                        {"remedy", found.remedy}});
    return json;
}

Json channel_json(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    return {{"channel", channel.channel},
            {"unit", channel.unit},
            {"row", or_null(channel.row)},
            {"gate", report.from_spacings ? Json(nullptr) : Json(channel.gate)},
            {"mode", ledger::name_of(channel.mode())},
            {"ledger", ledger_json(report, channel)},
            {"spacing", spacing_json(channel.spacing())},
            {"placement", placement_json(channel.placement())},
            {"portion", portion_json(channel.portions())},
            {"line", line_json(channel.line())},
            {"shares", shares_json(channel)},
            {"gates", gates_json(channel.gates)},
            {"sensor", sensor_json(channel)},
            {"independence", independence_json(channel)},
            {"verdict", verdict_json(report, channel.judgement)},
            {"sequential", sequential_json(report, channel)},
            {"causes", causes_json(channel.causes)},
            {"notes", channel.notes}};
}

Json transverse_json(const std::optional<measures::Transverse>& transverse) {
    if (!transverse)
        return nullptr;
    Json channels = Json::array();
    for (const measures::ChannelDeviation& channel : transverse->channels)
        channels.push_back({{"channel", channel.channel},
                            {"seeds", channel.seeds},
                            {"deviation", channel.deviation}});
    return {{"mean_seeds", transverse->mean_seeds},
            {"cv", transverse->cv},
            {"channels", std::move(channels)}};
}

Json source_json(const audit::AuditReport& report) {
    Json source{{"file", report.file}, {"run", nullptr}, {"started", nullptr}};
    if (report.from_spacings) {
        for (const char* const key :
             {"lines", "lost", "sequence_gaps", "torn_tail", "seals", "signed", "complete"})
            source[key] = nullptr;
        return source;
    }
    source["run"] = report.run_id;
    source["started"] = report.started;
    source.update(integrity_json(report.integrity));
    return source;
}

Json faults_json(const std::vector<ledger::Fault>& faults) {
    Json json = Json::array();
    for (const ledger::Fault& fault : faults)
        json.push_back({{"channel", fault.channel},
                        {"code", fault.code},
                        {"time_us", fault.time_us},
                        {"line", fault.line}});
    return json;
}

Json report_json(const audit::AuditReport& report) {
    Json channels = Json::array();
    for (const audit::ChannelReport& channel : report.channels)
        channels.push_back(channel_json(report, channel));
    return {{"schema", schema},
            {"source", source_json(report)},
            {"settings", Json(report.header.run)},
            {"profile", report.profile.name},
            {"calibration", or_null(report.calibration)},
            {"travelled",
             {{"distance_mm", mm_of(report.travelled.distance_um)},
              {"duration_us", report.travelled.duration_us}}},
            {"faults", faults_json(report.faults)},
            {"halted", report.halted_reason},
            {"channels", std::move(channels)},
            {"siblings",
             {{"channels_unlike", report.siblings.unlike},
              {"method", report.siblings.method},
              {"findings", report.siblings.findings}}},
            {"transverse", transverse_json(report.transverse)},
            {"contradictions", contradictions_json(report.contradictions)},
            {"notes", report.notes},
            {"outcome", verdict::name_of(report.outcome)}};
}

// A log's text may hold bytes that are no UTF-8; they come out as replacement characters.
std::string text_of(const Json& json) {
    return json.dump(2, ' ', false, Json::error_handler_t::replace);
}

Json series_json(const audit::UnitSeries& series) {
    Json runs = Json::array();
    for (const audit::SeriesRun& one : series.runs)
        runs.push_back({{"file", one.file},
                        {"speed_mps", one.run.speed_mps},
                        {"drops", one.run.drops},
                        {"misses", one.run.misses},
                        {"multiples", or_null(one.run.multiples)},
                        {"offset_mm", one.run.offset ? Json(one.run.offset->mm) : Json(nullptr)}});
    Json trends = Json::array();
    for (const causes::SpeedTrend& trend : series.trends)
        trends.push_back({{"what", audit::name_of(trend.what)},
                          {"slowest", trend.slowest},
                          {"fastest", trend.fastest},
                          {"per_mps", trend.per_mps},
                          {"p_value", trend.p_value}});
    return {{"unit", series.unit},
            {"runs", runs},
            {"trends", trends},
            {"causes", causes_json(series.causes)}};
}

verdict::Outcome worst_of(const std::vector<audit::AuditReport>& reports) {
    std::vector<verdict::Outcome> outcomes;
    outcomes.reserve(reports.size());
    for (const audit::AuditReport& report : reports)
        outcomes.push_back(report.outcome);
    return verdict::worst(outcomes, verdict::Outcome::undecided);
}

} // namespace

std::string to_json(const audit::AuditReport& report) {
    return text_of(report_json(report));
}

std::string to_json(const std::vector<audit::AuditReport>& reports) {
    Json audits = Json::array();
    for (const audit::AuditReport& report : reports)
        audits.push_back(report_json(report));
    Json series = Json::array();
    for (const audit::UnitSeries& unit : unit_series(reports))
        series.push_back(series_json(unit));
    return text_of({{"schema", several_schema},
                    {"audits", std::move(audits)},
                    {"series", std::move(series)},
                    {"outcome", verdict::name_of(worst_of(reports))}});
}

} // namespace dropledger::report
