#include "bench/station/mechanic/live_part.hpp"

#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/words/sentences.hpp"
#include "bench/commands/run/screen/run_screen.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;
using report::pictures::typeset;

namespace {

constexpr int pitch = 4; // of two drops in the picture

std::string mark_of(cli::DropSeen drop, int x) {
    switch (drop) {
    case cli::DropSeen::right:
        return fmt::format("<path class=\"tick\" d=\"M{0} 8V16\" />", x);
    case cli::DropSeen::none:
        return fmt::format("<circle class=\"m-few\" cx=\"{}\" cy=\"20\" r=\"1.8\" />", x);
    case cli::DropSeen::too_many:
        return fmt::format("<path class=\"m-many\" d=\"M{0} 8V16M{1} 6L{0} 2L{2} 6\" />", x, x - 2,
                           x + 2);
    }
    return {};
}

std::string_view class_of(cli::Ink ink) {
    switch (ink) {
    case cli::Ink::plain:
        return "say";
    case cli::Ink::good:
        return "say good";
    case cli::Ink::bad:
        return "say bad";
    case cli::Ink::look:
        return "say look";
    }
    return "say";
}

std::string unit_row(const cli::ScreenModel& model, const cli::ScreenUnit& unit) {
    const cli::UnitWords words = words_for(model, unit);
    std::string cells = element("th", "class=\"name\" scope=\"row\"", escaped(cli::name_of(unit)));
    for (const cli::UnitCount& one : words.counts)
        cells +=
            element("td", fmt::format("class=\"n\" data-is=\"{}\"", one.title), typeset(one.text));
    if (model.mode != droplog::Mode::line)
        cells += element("td", "class=\"strip\"", last_drops(unit));
    const std::string remedy =
        unit.dry >= cli::dry_drops ? ": " + std::string(cli::dry_remedy) : std::string{};
    cells += element("td", fmt::format("class=\"{}\"", class_of(words.ink)),
                     escaped(words.words + remedy));
    return element("tr", "", cells) + "\n";
}

const char* so_far_title(const cli::ScreenModel& model) {
    return model.mode == droplog::Mode::portion ? "empty and over so far"
                                                : "misses and multiples so far";
}

// What the last column cannot say: it goes by the rule that stops a run, the audit by all limits.
std::string what_is_provisional(const cli::ScreenModel& model) {
    if (model.mode == droplog::Mode::line)
        return "provisional; the audit judges once the run is over.";
    return fmt::format(
        "shares with their 95 % intervals. Provisional: \"within\" and \"outside\" are of {} only, "
        "\"open\" is not decided yet, \"high\" above its limit so far. The audit at the end judges "
        "places and spacings too, and whether the evidence bears it: it may leave undecided what "
        "is within here. In the strip a low ring is a drop without seed, an arrow one with too "
        "many.",
        model.mode == droplog::Mode::portion ? "empty and over-full portions"
                                             : "misses and multiples");
}

std::string head_row(const cli::ScreenModel& model) {
    std::string cells = element("th", "scope=\"col\"", "unit");
    if (!model.units.empty())
        for (const cli::UnitCount& one : words_for(model, model.units.front()).counts)
            cells += element("th", "class=\"n\" scope=\"col\"", one.title);
    if (model.mode != droplog::Mode::line)
        cells += element("th", "scope=\"col\"", "last drops");
    return element(
        "tr", "",
        cells + element("th", "scope=\"col\"",
                        model.mode == droplog::Mode::line ? "to look at" : so_far_title(model)));
}

} // namespace

std::string last_drops(const cli::ScreenUnit& unit) {
    std::string marks;
    int x = pitch / 2;
    for (const cli::DropSeen drop : unit.last) {
        marks += mark_of(drop, x);
        x += pitch;
    }
    const auto none = std::count(unit.last.begin(), unit.last.end(), cli::DropSeen::none);
    const auto many = std::count(unit.last.begin(), unit.last.end(), cli::DropSeen::too_many);
    const std::string said = fmt::format("of the last {} drops {} without seed, {} with too many",
                                         unit.last.size(), none, many);
    return element("svg",
                   fmt::format("viewBox=\"0 0 {} 24\" role=\"img\" aria-label=\"{}\"",
                               static_cast<int>(cli::drops_shown) * pitch, said),
                   marks);
}

std::string live_part(const cli::ScreenModel& model) {
    std::string text = element("p", "class=\"lead\"", escaped(progress_words(model)));
    if (const auto part = part_done(model))
        text +=
            fmt::format("<svg class=\"progress\" viewBox=\"0 0 1000 10\" "
                        "preserveAspectRatio=\"none\" aria-hidden=\"true\"><rect width=\"{:.0f}\" "
                        "height=\"10\" /></svg>",
                        1000.0 * std::clamp(*part, 0.0, 1.0));
    std::string rows;
    for (const cli::ScreenUnit& unit : model.units)
        rows += unit_row(model, unit);
    text += element("table", "class=\"units-now\"",
                    element("thead", "", head_row(model)) + element("tbody", "", "\n" + rows));
    return text +
           element("p", "class=\"cap\"",
                   escaped(report::capitalised(limit_words(model) + what_is_provisional(model))));
}

std::string run_bar(const std::string& number, const std::string& words) {
    return element(
        "div", fmt::format("class=\"in-bar\" data-run=\"{}\"", number),
        element("p", "", escaped(words)) +
            element("form", "method=\"post\" action=\"/run/halt\"",
                    element("button", "class=\"halt\" data-halt=\"halt\" type=\"submit\"",
                            element("span", "", "HALT") + element("small", "", "or the key Esc"))));
}

std::string start_cautions_part() {
    return element("h2", "", "Before the motors start") +
           report::html::bullet_list(cli::start_cautions()) +
           element("p", "", escaped(cli::above_cautions));
}

std::string happenings(const std::vector<std::string>& said) {
    if (said.empty())
        return {};
    std::string items;
    for (auto one = said.rbegin(); one != said.rend(); ++one)
        items += element("li", "", escaped(*one)) + "\n";
    return element("h2", "", "What happened") + element("ul", "class=\"plain happened\"", items);
}

} // namespace dropledger::station
