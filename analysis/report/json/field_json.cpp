#include "analysis/report/json/field_json.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::report::field {

namespace {

using namespace dropledger::field;
using Json = nlohmann::ordered_json;

template <class T> Json nullable(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

template <class List, class Write> Json array_of(const List& list, Write write) {
    Json array = Json::array();
    for (const auto& one : list)
        array.push_back(write(one));
    return array;
}

Json place(const Place& at) {
    return Json::array({at.x, at.y});
}

void add_chance(Json& json, const Chance& chance) {
    json["judgement"] = name_of(judged(chance));
    json["probability_missing"] = nullable(stated(chance));
    json["probability_bounds"] = Json::array({chance.low, chance.high});
}

Json line_json(const LineReport& line) {
    return {{"pass", line.key.pass}, {"row", line.key.row}, {"drops", line.drops},
            {"silent", line.silent}, {"gaps", line.gaps},   {"longest_gap_m", line.longest_gap_m},
            {"alerts", line.alerts}};
}

Json gap_json(const FieldAudit& audit, const Gap& gap) {
    Json json{{"pass", gap.key.pass},         {"row", gap.key.row},
              {"first_drop", gap.first_drop}, {"last_drop", gap.last_drop},
              {"length_m", gap.length_m},     {"from", place(gap.from)},
              {"to", place(gap.to)}};
    add_chance(json, gap.missing);
    json["seeds"] = gap.seeds;
    json["alerts"] = gap.alerts;
    json["reseed"] = audit.worth_reseeding(gap);
    return json;
}

Json alert_json(const Alert& alert) {
    Json json{{"pass", alert.key.pass}, {"row", alert.key.row}, {"drop", alert.drop}};
    add_chance(json, alert.missing);
    json["seen"] = alert.seen;
    json["place"] = place(alert.at);
    return json;
}

Json cause_json(const FieldCause& cause) {
    return {{"kind", key_of(cause.kind)},   {"row", cause.row},
            {"pass", nullable(cause.pass)}, {"p_value", cause.p_value},
            {"evidence", cause.evidence},   {"look_at", cause.look_at},
            {"drops", cause.drops}};
}

Json unit_of(const Field& field, std::int64_t row) {
    const auto found = field.units.find(row);
    return found == field.units.end() ? Json(nullptr) : Json(found->second);
}

Json neighbours_json(const std::optional<Neighbours>& neighbours) {
    if (!neighbours)
        return nullptr;
    return {{"least_silent_row", neighbours->least_row},
            {"least_silent_share", neighbours->least_silent},
            {"least_silent_share_at_most", neighbours->least_silent_most},
            {"missing_at_least_if_gates_alike", neighbours->missing_if_gates_alike},
            {"missing_at_most_if_meters_alike", neighbours->missing_if_meters_alike}};
}

Json units_json(const FieldAudit& audit) {
    Json rows = Json::array();
    for (const RowReport& row : audit.rows)
        rows.push_back(
            {{"row", row.judge.row},
             {"drops", row.drops},
             {"silent", row.silent},
             {"gaps", row.gaps},
             {"alerts", row.alerts},
             {"longest_gap_m", row.longest_gap_m},
             {"unit", unit_of(audit.field, row.judge.row)},
             {"gate_efficiency",
              row.judge.efficiency ? Json(row.judge.efficiency->value) : Json(nullptr)},
             {"calibration", row.judge.efficiency && !row.judge.efficiency->source.empty()
                                 ? Json(row.judge.efficiency->source)
                                 : Json(nullptr)},
             {"neighbours", neighbours_json(row.judge.neighbours)},
             {"silent_share_between_outages", row.judge.model.background},
             {"outages", row.judge.model.outages},
             {"reported_share", nullable(row.judge.reported_share)},
             {"missing_when_silent", nullable(row.judge.missing_when_silent)},
             {"seeds_commanded", row.seeds_commanded},
             {"plants_lost",
              {{"low", row.seeds_lost_low * audit.options.germination},
               {"high", row.seeds_lost_high * audit.options.germination}}},
             {"miss_index", nullable(row.miss_index)},
             {"multiples_index", nullable(row.multiples_index)},
             {"offsets", row.offsets},
             {"within_guard", nullable(row.within_guard)}});
    return rows;
}

Json parts_json(const FieldAudit& audit) {
    Json parts = Json::array();
    for (const FieldPart& part : audit.parts)
        parts.push_back({{"field", part.number},
                         {"first_pass", part.first_pass},
                         {"last_pass", part.last_pass},
                         {"passes", part.passes},
                         {"drops", part.drops},
                         {"silent", part.silent},
                         {"gaps", part.gaps},
                         {"alerts", part.alerts},
                         {"reseed_gaps", part.reseed_gaps},
                         {"seeds_commanded", part.seeds_commanded},
                         {"plants_lost",
                          {{"low", part.seeds_lost_low * audit.options.germination},
                           {"high", part.seeds_lost_high * audit.options.germination}}},
                         {"worst_rows", part.worst_rows}});
    return parts;
}

Json patterns_json(const FieldAudit& audit) {
    Json lengths = Json::array();
    for (const GapLength& one : audit.gap_lengths)
        lengths.push_back(
            {{"drops", one.drops}, {"observed", one.observed}, {"expected", one.expected}});
    Json where = Json::array();
    for (const Concentration& one : audit.concentrations)
        where.push_back({{"where", one.where},
                         {"gaps", one.gaps},
                         {"expected", one.expected},
                         {"p_value", one.p_value}});
    return {{"gap_lengths", lengths}, {"concentrations", where}};
}

Json reseed_json(const Reseed& reseed) {
    return {{"min_length_m", reseed.min_length_m},
            {"gaps", reseed.gaps},
            {"seeds", reseed.seeds},
            {"length_m", reseed.length_m},
            {"plants_lost", reseed.plants_lost},
            {"undecided_gaps", reseed.undecided_gaps},
            {"cost_of_nothing", nullable(reseed.cost_of_nothing)},
            {"cost_of_reseeding", nullable(reseed.cost_of_reseeding)}};
}

Json bad_rows_json(const Field& field) {
    Json rows = Json::array();
    for (const BadRow& row : field.bad_samples)
        rows.push_back({{"line", row.line}, {"reason", row.reason}});
    return rows;
}

Json share(double part, double whole) {
    return whole > 0.0 ? Json(part / whole) : Json(nullptr);
}

} // namespace

std::string to_json(const FieldAudit& audit) {
    const Json json{
        {"schema", "dropledger/field/1"},
        {"file", audit.options.file},
        {"places", audit.field.geographic ? "lon_lat_deg" : "east_north_m"},
        {"drops", audit.field.drops},
        {"rows_bad", audit.field.rows_bad},
        {"bad_rows", bad_rows_json(audit.field)},
        {"rows", array_of(audit.lines, line_json)},
        {"gaps", array_of(audit.gaps, [&](const Gap& gap) { return gap_json(audit, gap); })},
        {"alerts", array_of(audit.alerts, alert_json)},
        {"gaps_without_alert", audit.silent_alarms},
        {"alert_after_drops", nullable(audit.alert_after_drops)},
        {"causes", array_of(audit.causes, cause_json)},
        {"reseed", reseed_json(audit.reseed)},
        {"units", units_json(audit)},
        {"fields", parts_json(audit)},
        {"patterns", patterns_json(audit)},
        {"plants_lost", {{"low", audit.plants_lost_low()}, {"high", audit.plants_lost_high()}}},
        {"share_of_stand_lost",
         {{"low", share(audit.seeds_lost_low, audit.seeds_commanded)},
          {"high", share(audit.seeds_lost_high, audit.seeds_commanded)}}},
        {"germination", audit.options.germination},
        {"guard_mm", nullable(audit.options.guard_mm)},
        {"notes", audit.notes}};
    return json.dump(2, ' ', false, Json::error_handler_t::replace);
}

} // namespace dropledger::report::field
