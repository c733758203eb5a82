#include "analysis/report/html/tables.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/words/sentences.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <array>
#include <utility>

namespace dropledger::report::html {

using pictures::element;
using pictures::escaped;
using pictures::typeset;

namespace {

using Cells = std::vector<std::pair<std::string, std::int64_t>>;

// Counts under their names, in as many lines as the page needs.
std::string count_list(const Cells& cells) {
    std::string pairs;
    for (const auto& [name, count] : cells)
        pairs += element("div", "",
                         element("dt", "", escaped(name)) + element("dd", "", grouped(count)));
    return element("dl", "class=\"ledger\"", pairs) + "\n";
}

Cells ledger_cells(ledger::Mode mode, const measures::LedgerTable& t) {
    Cells cells{{"drops", t.drops}};
    const Cells kinds =
        mode == ledger::Mode::portion
            ? Cells{{"empty", t.empty}, {"short", t.shorted}, {"exact", t.exact}, {"over", t.over}}
            : Cells{{"single", t.single}, {"multiple", t.multiple}, {"miss", t.miss}};
    cells.insert(cells.end(), kinds.begin(), kinds.end());
    cells.insert(cells.end(), {{"seeds", t.seeds}, {"strays", t.strays}});
    return cells;
}

std::string method_note(const ReportedQuantity& quantity) {
    std::string note = "n: " + quantity.n_of;
    if (quantity.estimate && quantity.estimate->interval && !quantity.estimate->method.empty())
        note += "; " + quantity.estimate->method;
    return element("small", "", escaped(note));
}

std::string quantity_row(const ReportedQuantity& quantity) {
    const std::string value =
        quantity.estimate ? value_words(*quantity.estimate, quantity.unit) : "not defined";
    const std::string interval =
        quantity.estimate ? interval_words(*quantity.estimate, quantity.unit) : "";
    return element("tr", "",
                   element("th", "scope=\"row\"", escaped(quantity.name) + method_note(quantity)) +
                       element("td", "class=\"n\"", typeset(value)) +
                       element("td", "class=\"n\"",
                               interval.empty() ? "no interval" : typeset(interval)) +
                       element("td", "class=\"n count\"", grouped(quantity.n))) +
           "\n";
}

std::string head_row(const std::vector<std::string>& names) {
    std::string cells = element("th", "scope=\"col\"", escaped(names.front()));
    for (std::size_t i = 1; i < names.size(); ++i)
        cells += element("th", R"(class="n" scope="col")", escaped(names[i]));
    return element("thead", "", element("tr", "", cells));
}

} // namespace

std::string heading(std::string_view text, std::string_view section) {
    return element("h3", "",
                   escaped(text) + (section.empty()
                                        ? ""
                                        : " " + element("span", "class=\"sec\"",
                                                        escaped(fmt::format("definitions, section {}",
                                                                            section))))) +
           "\n";
}

std::string paragraph(std::string_view text, std::string_view style) {
    return element("p", style.empty() ? "" : fmt::format("class=\"{}\"", style), escaped(text)) +
           "\n";
}

std::string bullet_list(const std::vector<std::string>& sentences) {
    std::string items;
    for (const std::string& sentence : sentences)
        items += element("li", "", escaped(sentence)) + "\n";
    return items.empty() ? "" : element("ul", "", items) + "\n";
}

std::string outcome_tag(verdict::Outcome outcome) {
    const std::string_view name = verdict::name_of(outcome);
    return element("span", fmt::format("class=\"said {}\"", name), name);
}

std::string ledger_table(const audit::ChannelReport& channel) {
    const audit::CommandedDrops* const drops = channel.drops();
    if (drops == nullptr)
        return "";
    const ledger::Mode mode = channel.mode();
    std::string text = heading("Ledger", "2") + count_list(ledger_cells(mode, drops->table));
    for (const std::string& identity : identities(mode, drops->table))
        text += paragraph(identity, "identity");
    text += paragraph("Both identities hold: every commanded drop and every seed stands in exactly "
                      "one place.",
                      "cap");
    return text;
}

std::string class_table(const measures::SpacingResult& spacing) {
    struct Class {
        const char* range;
        const char* meaning;
    };
    constexpr std::array<Class, 5> classes{{{"up to 0.5", "multiple"},
                                            {"over 0.5 up to 1.5", "single"},
                                            {"over 1.5 up to 2.5", "1 miss"},
                                            {"over 2.5 up to 3.5", "2 misses"},
                                            {"over 3.5", "3 or more misses"}}};
    std::string rows;
    for (std::size_t i = 0; i < classes.size(); ++i)
        rows += element("tr", "",
                        element("th", "scope=\"row\"",
                                escaped(fmt::format("n'{}: {}", i + 1, classes[i].meaning))) +
                            element("td", "class=\"n\"", classes[i].range) +
                            element("td", "class=\"n\"", grouped(spacing.counts.classes[i]))) +
                "\n";
    const std::string beyond =
        spacing.beyond_histogram > 0
            ? paragraph(fmt::format("Longer than the histogram's {} classes: {}.",
                                    measures::histogram_classes,
                                    counted(static_cast<std::uint64_t>(spacing.beyond_histogram),
                                            "spacing")),
                        "cap")
            : "";
    return element("table", "",
                   head_row({"class", "spacing / theoretical", "spacings"}) +
                       element("tbody", "", rows)) +
           "\n" + beyond;
}

std::string quantity_table(const QuantityGroup& group, Confidence confidence) {
    std::string rows;
    for (const ReportedQuantity& quantity : group.rows)
        rows += quantity_row(quantity);
    return heading(group.title, group.section) +
           element("table", "class=\"stack full\"",
                   head_row({"quantity", "value", percent_words(confidence.level()) + " interval",
                             "n"}) +
                       element("tbody", "", rows)) +
           "\n";
}

std::string pulse_table(const audit::ChannelReport& channel) {
    if (channel.sensor.pulses_by_gate.empty())
        return "";
    std::string rows;
    for (const auto& [gate, pulses] : channel.sensor.pulses_by_gate)
        rows +=
            element(
                "tr", "",
                element("th", "scope=\"row\"",
                        fmt::format("gate {}{}", gate, gate == channel.gate ? ", judges" : "")) +
                    element("td", "class=\"n\"", grouped(static_cast<std::int64_t>(pulses)))) +
            "\n";
    std::string text =
        heading("Pulses by gate", "1") +
        element("table", "", head_row({"gate", "pulses"}) + element("tbody", "", rows)) + "\n";
    if (channel.rejected_pulses > 0)
        text += paragraph(
            fmt::format("Of the judging gate, not seeds or without a place: {}.",
                        counted(static_cast<std::uint64_t>(channel.rejected_pulses), "pulse")),
            "cap");
    return text;
}

} // namespace dropledger::report::html
