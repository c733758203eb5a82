#include "bench/station/farmer/questions.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/shell/numbers.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

struct Asked {
    const char* name;
    const char* label;
    const char* help;
    void (*take)(cli::DecisionOptions&, double);
};
using Decision = cli::DecisionOptions;
constexpr std::array<Asked, 11> numbers{
    {{"cost-lost-plant", "What a lost plant costs", "in your currency",
      [](Decision& to, double number) { to.cost_lost_plant = number; }},
     {"cost-reseed-metre", "What re-seeding a metre costs", "in your currency",
      [](Decision& to, double number) { to.cost_reseed_metre = number; }},
     {"cost-gap", "What reaching one gap costs", "in your currency",
      [](Decision& to, double number) { to.cost_gap = number; }},
     {"cost-seed", "What a seed costs", "in your currency",
      [](Decision& to, double number) { to.cost_seed = number; }},
     {"late-value", "Value of a plant re-seeded late",
      "as a share of one in time; 1 where nothing is said",
      [](Decision& to, double number) { to.late_value = number; }},
     {"germination", "Share of seeds that become plants", "0 to 1; 1 where nothing is said",
      [](Decision& to, double number) { to.germination = number; }},
     {"reseed-min-m", "Gaps from this length on are worth re-seeding", "m; 1 where nothing is said",
      [](Decision& to, double number) { to.reseed_min_m = number; }},
     {"reseed-mps", "How fast a gap is re-seeded", "m/s; 0.3 where nothing is said",
      [](Decision& to, double number) { to.pace.reseed_mps = number; }},
     {"walk-mps", "How fast you walk", "m/s; 1.2 where nothing is said",
      [](Decision& to, double number) { to.pace.walk_mps = number; }},
     {"gap-seconds", "Time to begin at each gap", "s; 20 where nothing is said",
      [](Decision& to, double number) { to.pace.seconds_per_gap = number; }},
     {"guard-mm", "Distance a blind hoe spares around a place", "mm, may be left out",
      [](Decision& to, double number) { to.guard_mm = number; }}}};

// What a question calls it, and what ticking it says.
struct Acceptable {
    const char* key;
    const char* words;
};
constexpr std::array<Acceptable, 8> acceptable{
    {{"seen-above-target", "the units really feed more than commanded"},
     {"duplicates", "of drops that stand there twice the first counts"},
     {"alerts", "every one in alert is an alert"},
     {"times", "the times are right"},
     {"swapped", "lat and lon are the right way round"},
     {"spacing", "the places are right, whatever the spacing"},
     {"coarse-places", "coarse places must do"},
     {"places", "the places that are left must do"}}};

std::string value_of(const Fields& query, const char* name) {
    return query.value(name).value_or("");
}

std::string accepted_fields(const Fields& query) {
    const auto values = query.values("accept");
    std::string accepted;
    for (const Acceptable& one : acceptable) {
        const bool on = std::find(values.begin(), values.end(), one.key) != values.end();
        accepted +=
            element("label", "class=\"choice\"",
                    fmt::format("<input type=\"checkbox\" name=\"accept\" value=\"{}\"{} />",
                                one.key, on ? " checked=\"checked\"" : "") +
                        element("span", "", fmt::format("{}: {}", one.key, one.words)));
    }
    return element("fieldset", "",
                   element("legend", "", "The table is right as it is") +
                       element("div", "class=\"choices\"", accepted));
}

// "3=0.97 4=0.95": parts with blanks between.
// No comma: it may be a decimal one.
std::vector<std::string> parts_of(std::string_view text) {
    return typed_list(text, " \t;");
}

} // namespace

std::string cost_fields(const Fields& query) {
    std::string fields;
    for (const Asked& one : numbers)
        fields += text_field({one.name, one.label, one.help, value_of(query, one.name), false});
    const std::string sensors =
        text_field({"gate-efficiency", "Share of the seeds that a row's sensor sees",
                    "of a hand count: 3=0.97 6=0.985", value_of(query, "gate-efficiency"), false}) +
        text_field({"calibration", "or its calibration record",
                    "in this folder: 3=gate-of-row-3.toml", value_of(query, "calibration"),
                    false}) +
        select_field(
            {.name = "assume",
             .label = "What may be taken for granted?",
             .help = "where nothing tells a bad meter from a bad sensor",
             .value = value_of(query, "assume"),
             .options = {{"", "nothing"},
                         {"gates-alike", "no sensor overlooks more than the best row is silent"},
                         {"meters-alike", "no meter misses more than the best row is silent"},
                         {"cables-sound", "plugs and cables were looked at"}}});
    return element("div", "class=\"row2\"", fields) +
           element("div", "class=\"row2 written\"", sensors);
}

bool has_costs(const Fields& query) {
    return query.filled("gate-efficiency") || query.filled("calibration") ||
           query.filled("assume") ||
           std::any_of(numbers.begin(), numbers.end(),
                       [&](const Asked& one) { return query.filled(one.name).has_value(); });
}

std::string question_fields(const Fields& query) {
    const std::string fields =
        select_field({.name = "blank-means",
                      .label = "Where `seen` is blank",
                      .value = value_of(query, "blank-means"),
                      .options = {{"", "not said"},
                                  {"none", "no seed was seen"},
                                  {"unknown", "nobody knows"}}}) +
        select_field({.name = "lacking-drops",
                      .label = "Where drop numbers lack",
                      .value = value_of(query, "lacking-drops"),
                      .options = {{"", "not said"},
                                  {"silent", "those drops were silent"},
                                  {"unknown", "nobody knows"}}}) +
        text_field({"drop-step", "The drop number grows by", "1 where nothing is said",
                    value_of(query, "drop-step"), false}) +
        text_field({"spacing-mm", "Distance of two drops, as the machine was set",
                    "mm; the places are held against it", value_of(query, "spacing-mm"), false}) +
        text_field({"time-zone", "Time zone of the table", "Europe/Berlin; times are shown in it",
                    value_of(query, "time-zone"), false});
    return element("div", "class=\"row2 written\"", fields) + accepted_fields(query);
}

std::string log_fields(const Fields& query) {
    return element("div", "class=\"row2 written\"",
                   text_field({"row-spacing-mm", "Distance of two rows",
                               "mm, or as 45 cm; 500 where nothing is said",
                               value_of(query, "row-spacing-mm"), false}) +
                       select_field({.name = "same-direction",
                                     .label = "Which way did the passes run?",
                                     .value = value_of(query, "same-direction"),
                                     .options = {{"", "every second one back"},
                                                 {"yes", "all of them the same way"}}}));
}

Status take_log_answers(const Fields& query, cli::FieldInput& input) {
    input.same_direction = query.value("same-direction") == "yes";
    if (const auto spacing = query.filled("row-spacing-mm")) {
        const auto number = cli::typed_number("--row-spacing-mm", *spacing);
        if (!number)
            return number.error();
        input.row_spacing_mm = *number;
    }
    return Done{};
}

Status take_answers(const Fields& query, cli::FieldInput& input) {
    input.time_zone = query.filled("time-zone");
    input.blank_means = query.filled("blank-means");
    input.lacking_drops = query.filled("lacking-drops");
    input.accept = query.values("accept");
    if (const auto step = query.filled("drop-step")) {
        const auto number = cli::typed_number("--drop-step", *step);
        if (!number)
            return number.error();
        if (std::abs(*number) > 1e6 || *number != std::floor(*number))
            return usage_error("option --drop-step", fmt::format("{} is no step", *step),
                               "give by how much the drop number grows, say 2");
        input.drop_step = std::llround(*number);
    }
    if (const auto spacing = query.filled("spacing-mm")) {
        const auto number = cli::typed_number("--spacing-mm", *spacing);
        if (!number)
            return number.error();
        input.spacing_mm = *number;
    }
    return Done{};
}

Status take_numbers(const Fields& query, cli::DecisionOptions& decision) {
    decision.assume = query.filled("assume");
    for (const Asked& one : numbers) {
        const auto given = query.filled(one.name);
        if (!given)
            continue;
        const auto number = cli::typed_number(std::string("--") + one.name, *given);
        if (!number)
            return usage_error(std::string("option --") + one.name, number.error().what,
                               number.error().remedy);
        one.take(decision, *number);
    }
    return Done{};
}

Status take_efficiencies(const Fields& query, const std::string& folder,
                         cli::EfficiencyOptions& efficiency) {
    efficiency.shares = parts_of(value_of(query, "gate-efficiency"));
    for (const std::string& part : parts_of(value_of(query, "calibration"))) {
        const std::size_t cut = part.find('=');
        const std::string row = cut == std::string::npos ? "" : part.substr(0, cut + 1);
        const auto file = file_in(folder, part.substr(row.size()), ".toml");
        if (!file)
            return file.error();
        efficiency.calibrations.push_back(row + *file);
    }
    return Done{};
}

} // namespace dropledger::station
