#include "bench/commands/calibrate/calibrate_efficiency_output.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/base/shown_text.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "bench/commands/shell/estimate_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli::efficiency {

namespace {

using report::estimate_json;
using Json = nlohmann::ordered_json;

Json gate_json(const MatchedLog& log, std::size_t gate) {
    const PulseKinds& kinds = log.gates.at(gate);
    const auto& lost = log.lost_to_dead_time.at(gate);
    const std::string& doubt = log.matching.doubts.at(gate);
    return {{"gate", gate},
            {"pulses", kinds.pulses},
            {"classified", kinds.classified},
            {"dust", kinds.dust},
            {"several", kinds.several},
            {"dead_us", or_null(kinds.dead_us)},
            {"lost_to_dead_time", or_null(lost)},
            {"doubt", doubt.empty() ? Json(nullptr) : Json(doubt)}};
}

Json matching_json(const MatchedLog& log) {
    const Matching& m = log.matching;
    return {{"file", log.file},
            {"channel", log.channel},
            {"both", m.seen.both},
            {"first", m.seen.first},
            {"second", m.seen.second},
            {"flight_us", m.flight_us},
            {"flight_u_us", m.flight_u_us},
            {"scatter_us", m.scatter_us},
            {"window_us", m.window_us},
            {"by_chance", m.by_chance},
            {"gates", {gate_json(log, 0), gate_json(log, 1)}}};
}

Json dependence_json(const Dependence& row) {
    return {{"odds", row.odds},
            {"seeds", row.seeds},
            {"first_efficiency", row.first_efficiency},
            {"second_efficiency", row.second_efficiency}};
}

Json implied_json(const std::pair<std::string, ImpliedDependence>& row) {
    return {{"way", row.first},
            {"missed_by_both", estimate_json(row.second.missed_by_both)},
            {"expected_if_independent", row.second.expected},
            {"odds", estimate_json(row.second.odds)},
            {"words", row.second.words}};
}

Json comparison_json(const Comparison& pair) {
    return {
        {"first", pair.first},      {"second", pair.second},      {"difference", pair.difference},
        {"low", pair.interval.low}, {"high", pair.interval.high}, {"agree", pair.agree},
        {"words", pair.words}};
}

Json weighing_json(const std::optional<WeighingResult>& weighing) {
    if (!weighing)
        return nullptr;
    return {{"seeds", estimate_json(weighing->seeds)},
            {"seeds_u", weighing->seeds_u},
            {"efficiency", estimate_json(weighing->efficiency)},
            {"efficiency_u", weighing->efficiency_u}};
}

template <class Row, class ToJson> Json list(const std::vector<Row>& rows, ToJson to_json) {
    Json out = Json::array();
    for (const Row& row : rows)
        out.push_back(to_json(row));
    return out;
}

void add_gate(TextPage& page, const MatchedLog& log, std::size_t gate) {
    const PulseKinds& kinds = log.gates.at(gate);
    if (kinds.classified)
        page.add("  gate {}: {} pulses, of which by the pulse classifier {} are dust and {} hold "
                 "several seeds\n",
                 gate, kinds.pulses, kinds.dust, kinds.several);
    const auto& lost = log.lost_to_dead_time.at(gate);
    if (!lost)
        return;
    page.add("  gate {} is blind for {} us after a pulse: at this rate at most {:.3f} % of the "
             "seeds fall then, which its "
             "efficiency holds\n",
             gate, *kinds.dead_us, 100.0 * *lost);
    constexpr double much = 0.005;
    if (*lost > much)
        page.add("  That is much: run slower, or the efficiency holds for this rate only.\n");
}

void add_matching(TextPage& page, const MatchedLog& log) {
    const Matching& m = log.matching;
    page.add("{} channel {}: {} pulses of gate 0, {} of gate 1, {} pairs {:.1f} ms apart "
             "(scatter {:.2f} ms, within "
             "{:.1f} ms); {:.1f} pairs expected by chance\n",
             log.file, log.channel, m.seen.first, m.seen.second, m.seen.both,
             static_cast<double>(m.flight_us) / 1000.0, m.scatter_us / 1000.0,
             static_cast<double>(m.window_us) / 1000.0, m.by_chance);
    add_gate(page, log, 0);
    add_gate(page, log, 1);
    for (const std::string& doubt : m.doubts)
        if (!doubt.empty())
            page.add("  {}\n", doubt);
}

// What the gate would count if no seed fell while it is blind: at most this, for the loss is a
// bound.
std::optional<double> without_dead_time(const Findings& found, std::size_t gate) {
    const auto& efficiency =
        gate == 0 ? found.two_gates->first_efficiency : found.two_gates->second_efficiency;
    double lost = 0.0;
    for (const MatchedLog& log : found.logs)
        lost = std::max(lost, log.lost_to_dead_time.at(gate).value_or(0.0));
    if (!efficiency || !(lost > 0.0) || lost >= 1.0)
        return std::nullopt;
    return std::min(1.0, efficiency->value / (1.0 - lost));
}

void add_two_gates(TextPage& page, const Findings& found) {
    const statistics::Recapture& two = *found.two_gates;
    page.add("Two gates: {} seen by both, {} by the first, {} by the second\n", found.seen->both,
             found.seen->first, found.seen->second);
    page.add("  seeds that fell    {}, standard error {:.1f} ({})\n", in_words(two.seeds, 1),
             two.standard_error, two.seeds.method);
    for (const auto& [name, estimate] : {std::pair{"first gate ", &two.first_efficiency},
                                         std::pair{"second gate", &two.second_efficiency}})
        if (*estimate)
            page.add("  {} counts {}  ({})\n", name, in_percent(**estimate), (*estimate)->method);
        else
            page.add("  {} unknown: the other gate saw nothing\n", name);
    for (const std::size_t gate : {0U, 1U})
        if (const auto most = without_dead_time(found, gate))
            page.add("  gate {} would count at most {:.2f} % if no seed fell while it is blind\n",
                     gate, 100.0 * *most);
    page.add("  {}\n", two.assumption);
    constexpr std::int64_t enough =
        7; // Robson & Regier 1964: below, Chapman's estimate is biased low
    if (found.seen->both < enough)
        page.add("  Fewer than {} pairs: the number of seeds comes out too low; run longer.\n",
                 enough);
    page.add("  If a seed overlooked by one gate is the likelier to be overlooked by the other "
             "(odds ratio):\n");
    for (const Dependence& row : found.dependence)
        page.add("    {:4.0f} : {:.1f} seeds, first gate {:.2f} %, second gate {:.2f} %\n",
                 row.odds, row.seeds, 100.0 * row.first_efficiency, 100.0 * row.second_efficiency);
    if (found.implied.empty())
        page.add("  The two gates alone cannot tell these apart; a hand count or weighing can.\n");
    for (const auto& [way, implied] : found.implied)
        page.add("  {}: {}\n", way, implied.words);
}

} // namespace

Json json_of(const Findings& found) {
    Json json{{"schema", "dropledger/calibrate-efficiency/1"}};
    const auto& two = found.two_gates;
    json["seeds"] = two ? estimate_json(two->seeds) : Json(nullptr);
    json["standard_error"] = two ? Json(two->standard_error) : Json(nullptr);
    json["first_efficiency"] = two ? estimate_json(two->first_efficiency) : Json(nullptr);
    json["second_efficiency"] = two ? estimate_json(two->second_efficiency) : Json(nullptr);
    json["without_dead_time"] = two ? Json{{"first", or_null(without_dead_time(found, 0))},
                                           {"second", or_null(without_dead_time(found, 1))}}
                                    : Json(nullptr);
    json["joint_odds"] = two ? Json(two->greatest_odds) : Json(nullptr);
    json["assumption"] = two ? Json(two->assumption) : Json(nullptr);
    json["dependence"] = list(found.dependence, dependence_json);
    json["implied_dependence"] = list(found.implied, implied_json);
    json["matching"] = list(found.logs, matching_json);
    json["hand_count"] =
        found.hand_count ? Json{{"efficiency", estimate_json(*found.hand_count)}} : Json(nullptr);
    json["weighing"] = weighing_json(found.weighing);
    json["comparison"] = list(found.comparison, comparison_json);
    return json;
}

std::string text_of(const Findings& found) {
    TextPage page;
    for (const MatchedLog& log : found.logs)
        add_matching(page, log);
    if (found.two_gates)
        add_two_gates(page, found);
    if (found.hand_count)
        page.add("Hand count: the gate counts {}\n", in_percent(*found.hand_count));
    if (found.weighing)
        page.add("Weighing: {} seeds, the gate counts {}\n", in_words(found.weighing->seeds, 1),
                 in_percent(found.weighing->efficiency));
    for (const Comparison& pair : found.comparison)
        page.add("{}\n", pair.words);
    return page.text();
}

Json json_of_all(const AllFindings& all) {
    return json_of_units("dropledger/calibrate-efficiency-several/1", all,
                         [](const Findings& found) { return json_of(found); });
}

std::string text_of_all(const AllFindings& all) {
    if (!all.several)
        return text_of(all.units.front().found);
    TextPage page;
    page.add("{:<14} {:<30} {}\n", "unit", "gate 0 counts", "gate 1 counts");
    const auto counts = [](const std::optional<statistics::Estimate>& efficiency) {
        return efficiency ? in_percent(*efficiency) : std::string("not known");
    };
    for (const auto& [unit, found] : all.units)
        page.add("{:<14} {:<30} {}\n", unit.unit, counts(found.two_gates->first_efficiency),
                 counts(found.two_gates->second_efficiency));
    for (const std::string& sentence : all.left_out)
        page.add("left out: {}\n", sentence);
    page.add("\n{}\nOne unit in full: --channel\n", all.units.front().found.two_gates->assumption);
    return page.text();
}

} // namespace dropledger::cli::efficiency
