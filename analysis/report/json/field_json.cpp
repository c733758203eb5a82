#include "analysis/report/json/field_json.hpp"

#include "analysis/base/readers/or_null.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::report::field {

namespace {

using namespace dropledger::field;
using Json = nlohmann::ordered_json;

template <class List, class Write> Json array_of(const List& list, Write write) {
    Json array = Json::array();
    for (const auto& one : list)
        array.push_back(write(one));
    return array;
}

Json place(const Place& at, bool geographic) {
    const Place shown = wrapped(at, geographic);
    return Json::array({shown.x, shown.y});
}

void add_chance(Json& json, const Chance& chance) {
    json["judgement"] = name_of(judged(chance));
    json["probability_missing"] = or_null(stated(chance));
    json["probability_bounds"] = Json::array({chance.low, chance.high});
}

Json line_json(const LineReport& line) {
    return {{"pass", line.key.pass}, {"row", line.key.row}, {"drops", line.drops},
            {"silent", line.silent}, {"gaps", line.gaps},   {"longest_gap_m", line.longest_gap_m},
            {"alerts", line.alerts}};
}

Json gap_json(const FieldAudit& audit, const Gap& gap) {
    Json json{{"pass", gap.key.pass},
              {"row", gap.key.row},
              {"first_drop", gap.first_drop},
              {"last_drop", gap.last_drop},
              {"length_m", gap.length_m},
              {"from", place(gap.from, audit.field.geographic)},
              {"to", place(gap.to, audit.field.geographic)}};
    add_chance(json, gap.missing);
    json["seeds"] = gap.seeds;
    json["alerts"] = gap.alerts;
    json["reseed"] = audit.worth_reseeding(gap);
    if (const auto gain = audit.net_gain(gap))
        json["net_gain"] = *gain;
    return json;
}

Json alert_json(const FieldAudit& audit, const Alert& alert) {
    Json json{{"pass", alert.key.pass}, {"row", alert.key.row}, {"drop", alert.drop}};
    add_chance(json, alert.missing);
    json["seen"] = alert.seen;
    json["place"] = place(alert.at, audit.field.geographic);
    json["gap"] = or_null(alert.gap);
    return json;
}

Json keys_of(const std::vector<causes::CauseKind>& kinds) {
    return array_of(kinds, [](causes::CauseKind kind) { return Json(key_of(kind)); });
}

Json cause_json(const FieldCause& cause) {
    return {{"kind", key_of(cause.kind)},
            {"could_be", keys_of(cause.could_be)},
            {"row", cause.row},
            {"rows_alike", cause.rows_alike},
            {"pass", or_null(cause.pass)},
            {"last_pass", or_null(cause.last_pass)},
            {"p_value", cause.p_value},
            {"seeds", cause.seeds},
            {"evidence", cause.evidence},
            {"look_at", cause.look_at},
            {"drops", cause.drops},
            {"also", keys_of(cause.also)}};
}

Json episode_json(const Episode& one) {
    return {{"trace", key_of(one.trace)},   {"first_pass", one.first_key.pass},
            {"first_drop", one.first_drop}, {"last_pass", one.last_key.pass},
            {"last_drop", one.last_drop},   {"drops", one.drops},
            {"silent", one.silent},         {"grew_over_drops", one.run_up},
            {"rows_alike", one.other_rows}};
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

Json holds_json(EfficiencyUse use) {
    return use == EfficiencyUse::none_stated ? Json(nullptr) : Json(use == EfficiencyUse::holds);
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
             {"silent_share_between_outages", row.judge.silent_share},
             {"outages", !row.judge.episodes.empty()},
             {"efficiency_holds", holds_json(row.judge.efficiency_use)},
             {"silent_share_changes", row.judge.drift.changes},
             {"episodes", array_of(row.judge.episodes, episode_json)},
             {"doubles", row.doubles},
             {"reported_share", or_null(row.judge.reported_share)},
             {"missing_when_silent", or_null(row.judge.missing_when_silent)},
             {"seeds_commanded", row.seeds_commanded},
             {"plants_lost",
              {{"low", row.seeds_lost_low * audit.options.germination},
               {"high", row.seeds_lost_high * audit.options.germination}}},
             {"miss_index", or_null(row.miss_index)},
             {"multiples_index", or_null(row.multiples_index)},
             {"offsets", row.offsets},
             {"within_guard", or_null(row.within_guard)}});
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
                         {"reseed_m", part.reseed_m},
                         {"name", part.name},
                         {"middle", place(part.middle(), audit.field.geographic)},
                         {"net_gain", or_null(part.net_gain)},
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
            {"minutes", reseed.minutes},
            {"plants_lost", reseed.plants_lost},
            {"undecided_gaps", reseed.undecided_gaps},
            {"undecided_length_m", reseed.undecided_length_m},
            {"undecided_seeds", reseed.undecided_seeds},
            {"costs_missing", reseed.costs_missing},
            {"cost_of_nothing", or_null(reseed.cost_of_nothing)},
            {"cost_of_nothing_low", or_null(reseed.cost_of_nothing_low)},
            {"cost_of_nothing_high", or_null(reseed.cost_of_nothing_high)},
            {"cost_of_reseeding", or_null(reseed.cost_of_reseeding)},
            {"net_gain", or_null(reseed.net_gain)},
            {"break_even_m", or_null(reseed.break_even_m)}};
}

Json delay_json(const std::optional<AlertDelay>& delay) {
    if (!delay)
        return nullptr;
    return {{"drops", delay->drops}, {"explains", delay->explains}};
}

Json dig_json(const FieldAudit& audit) {
    if (!audit.dig)
        return nullptr;
    const Gap& gap = audit.gaps[audit.dig->gap];
    return {{"gap", audit.dig->gap},
            {"pass", gap.key.pass},
            {"row", gap.key.row},
            {"first_drop", gap.first_drop},
            {"last_drop", gap.last_drop},
            {"at", place(gap.from, audit.field.geographic)},
            {"settles_alerts", audit.dig->alerts},
            {"settles_m", audit.dig->length_m},
            {"single_drops", audit.dig->single_drops}};
}

Json walk_json(const Walk& walk) {
    return {{"stops", walk.stops},
            {"way_m", walk.way_m},
            {"way_in_list_order_m", walk.way_in_list_order_m}};
}

Json table_json(const FieldAudit& audit) {
    const Facts& facts = audit.field.facts;
    return {{"rows", facts.rows},
            {"encoding", facts.encoding},
            {"title_lines", facts.titles},
            {"spacing_m", or_null(audit.ground.spacing_m)},
            {"speed_mps", or_null(audit.ground.speed_mps)},
            {"duplicates", facts.duplicates},
            {"unknown_drops", facts.unknown_drops - facts.filled_drops},
            {"filled_drops", facts.filled_drops},
            {"uncommanded", facts.target_none},
            {"places_kept_out", facts.places_kept_out},
            {"times_unread", facts.times_unread},
            {"times_doubtful", facts.times_doubtful},
            {"clock", audit.field.clock_name()},
            {"passes_split", facts.stretches_split}};
}

Json names_json(const std::map<std::int64_t, std::string>& names) {
    Json json = Json::object();
    for (const auto& [number, name] : names)
        json[std::to_string(number)] = name;
    return json;
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

namespace {

std::string text_of(const Json& json) {
    return json.dump(1, ' ', false, Json::error_handler_t::replace);
}

// Arrays that grow with the table are written one by one: as a whole they would take many times
// their text.
template <class List, class Write>
void append_array(std::string& text, std::string_view key, const List& list, Write write) {
    text.append(",\n \"").append(key).append("\": [");
    bool first = true;
    for (const auto& one : list) {
        text.append(first ? "\n  " : ",\n  ");
        text.append(write(one).dump(-1, ' ', false, Json::error_handler_t::replace));
        first = false;
    }
    text.append("]");
}

std::vector<std::string> notes_of(const FieldAudit& audit) {
    std::vector<std::string> notes = audit.notes;
    if (!audit.lacking.empty())
        notes.insert(notes.begin(), audit.lacking);
    return notes;
}

Json rest_json(const FieldAudit& audit) {
    return {{"gaps_without_alert", audit.silent_alarms},
            {"alert_after_drops", or_null(audit.alert_after_drops)},
            {"alert_delay", delay_json(audit.alert_delay)},
            {"causes", array_of(audit.causes, cause_json)},
            {"reseed", reseed_json(audit.reseed)},
            {"dig", dig_json(audit)},
            {"walk", walk_json(audit.walk)},
            {"units", units_json(audit)},
            {"fields", parts_json(audit)},
            {"patterns", patterns_json(audit)},
            {"plants_lost", {{"low", audit.plants_lost_low()}, {"high", audit.plants_lost_high()}}},
            {"share_of_stand_lost",
             {{"low", share(audit.seeds_lost_low, audit.seeds_commanded)},
              {"high", share(audit.seeds_lost_high, audit.seeds_commanded)}}},
            {"germination", audit.options.germination},
            {"guard_mm", or_null(audit.options.guard_mm)},
            {"row_names", names_json(audit.field.row_names)},
            {"pass_names", names_json(audit.field.pass_names)},
            {"notes", notes_of(audit)}};
}

// Two objects' texts as one.
void append_members(std::string& text, const std::string& object) {
    text.append(",").append(object.substr(1));
}

} // namespace

std::string to_json(const FieldAudit& audit) {
    const Json head{{"schema", "dropledger/field/1"},
                    {"file", audit.options.file},
                    {"places", audit.field.geographic ? "lon_lat_deg" : "east_north_m"},
                    {"drops", audit.field.drops},
                    {"rows_bad", audit.field.rows_bad},
                    {"bad_rows", bad_rows_json(audit.field)},
                    {"table", table_json(audit)}};
    std::string text = text_of(head);
    text.erase(text.size() - 2); // the last line end and brace
    append_array(text, "rows", audit.lines, line_json);
    append_array(text, "gaps", audit.gaps, [&](const Gap& gap) { return gap_json(audit, gap); });
    append_array(text, "alerts", audit.alerts,
                 [&](const Alert& alert) { return alert_json(audit, alert); });
    append_members(text, text_of(rest_json(audit)));
    return text;
}

} // namespace dropledger::report::field
