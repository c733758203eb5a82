#include "bench/station/mechanic/unit_pages.hpp"

#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/book/book.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/station/mechanic/before_after_pages.hpp"
#include "bench/station/mechanic/book_pages.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

cli::BookOptions options_of(const Place& place) {
    cli::BookOptions options;
    options.book = place.book;
    return options;
}

std::string head_cell(std::string_view title) {
    const bool counts = title == "runs" || title == "drops";
    return element("th", counts ? "class=\"n\" scope=\"col\"" : "scope=\"col\"", title);
}

std::string unit_row(const cli::UnitLine& line) {
    std::string due;
    for (const std::string& one : line.due)
        due += element("div", "", escaped(one));
    return element(
               "tr", "",
               element("th", "scope=\"row\"",
                       link("/units/" + encoded(line.unit.unit), line.unit.unit)) +
                   element("td", "", report::html::outcome_tag(line.unit.last_outcome)) +
                   element("td", "class=\"n\" data-is=\"runs\"", fmt::to_string(line.unit.runs)) +
                   element("td", "data-is=\"last run\"",
                           escaped(cli::local_words(line.unit.last))) +
                   element("td", "", due)) +
           "\n";
}

// The newest first, each with its verdict's page where its log lies in the folder.
std::string runs_part(const Place& place, const cli::UnitInBook& unit) {
    std::string rows;
    for (auto run = unit.runs.rbegin(); run != unit.runs.rend(); ++run) {
        const auto here = name_here(place, unit.book, *run);
        const std::string name =
            here ? link("/verdict/" + encoded(*here), *here) : escaped(run->file);
        const auto& verdict = run->verdicts.front();
        rows += element("tr", "",
                        element("th", "scope=\"row\"", escaped(cli::local_words(run->started))) +
                            element("td", "", report::html::outcome_tag(verdict.outcome)) +
                            element("td", "class=\"n\" data-is=\"drops\"",
                                    fmt::to_string(verdict.drops)) +
                            element("td", "", name)) +
                "\n";
    }
    std::string head;
    for (const char* const title : {"run", "verdict", "drops", "log"})
        head += head_cell(title);
    return heading2("Its runs") + element("div", "class=\"wide\"",
                                          element("table", "class=\"full listed\"",
                                                  element("thead", "", element("tr", "", head)) +
                                                      element("tbody", "", "\n" + rows)));
}

// What the list says of the unit.
std::string due_part(const cli::BookOptions& options, const std::string& unit) {
    const auto lines = cli::unit_lines(options);
    if (lines)
        for (const cli::UnitLine& line : *lines)
            if (line.unit.unit == unit && !line.due.empty())
                return element("div", "class=\"word\"",
                               text_line("Due:") + report::html::bullet_list(line.due));
    return {};
}

std::string repair_form(const std::string& unit) {
    return heading2("It was repaired") +
           form({.action = "/units/" + encoded(unit),
                 .fields = text_field({.name = "text",
                                       .label = "What was done?",
                                       .help = "From here on the unit has a new usual range.",
                                       .needed = true}) +
                           text_field({.name = "date",
                                       .label = "On which day?",
                                       .help = "as 2026-03-20; left out: now"}),
                 .button = "Note the repair",
                 .is_go = false});
}

// Where its file is no book; where it cannot be got at, another one would not help.
std::string offer_anew(const Error& error) {
    if (error.kind != ErrorKind::input)
        return {};
    return text_line("It is moved aside, and made anew of the logs and records of this folder; "
                     "repairs and removed runs are kept in a file of their own.") +
           element("div", "class=\"acts\"", act("/book/anew", "Make the book anew"));
}

Response no_book(const Place& place, const std::string& bar) {
    return {.body = page(
                {.title = "Units",
                 .here = "/units",
                 .body = heading1("Units") +
                         text_line("A book keeps each unit's runs, repairs and calibrations over "
                                   "the seasons. It is made with the first run on the bench.",
                                   "lead") +
                         offer_to_enter(place) +
                         element("div", "class=\"acts\"", button_link("/bench", "To the bench")),
                 .bar = bar})};
}

} // namespace

Response units_page(const Place& place, const std::string& bar) {
    if (!place.has_book())
        return no_book(place, bar);
    const auto lines = cli::unit_lines(options_of(place));
    if (!lines)
        return {.body = page({.title = "Units",
                              .here = "/units",
                              .body = heading1("Units") + said_wrong(lines.error()) +
                                      offer_anew(lines.error()),
                              .bar = bar})};
    std::string rows;
    for (const cli::UnitLine& line : *lines)
        rows += unit_row(line);
    std::string head;
    for (const char* const title : {"unit", "last verdict", "runs", "last run", "due"})
        head += head_cell(title);
    return {.body = page({.title = "Units",
                          .here = "/units",
                          .body = heading1("Units") + offer_to_enter(place) +
                                  element("p", "class=\"noprint links\"",
                                          link("/calibrations", "Calibrate gates")) +
                                  element("div", "class=\"wide\"",
                                          element("table", "class=\"full listed\"",
                                                  element("thead", "", element("tr", "", head)) +
                                                      element("tbody", "", "\n" + rows))),
                          .bar = bar,
                          .as_report = true})};
}

Response unit_page(const Place& place, const Request& request, const std::string& bar,
                   const std::string& trouble) {
    if (!place.has_book())
        return no_book(place, bar);
    cli::BookOptions options = options_of(place);
    options.unit = request.parts.front();
    const auto unit = cli::unit_in_book(options);
    const auto trends = cli::unit_trends(options);
    const std::string body =
        unit && trends
            ? trouble + cli::trend_body(*trends) + due_part(options, unit->name) +
                  runs_part(place, *unit) + choose_two(place, unit->name, unit->runs) +
                  repair_form(options.unit)
            : heading1("Unit " + options.unit) + said_wrong(unit ? trends.error() : unit.error());
    return {.body = page({.title = "Unit " + options.unit,
                          .here = "/units",
                          .body = body,
                          .bar = bar,
                          .as_report = true})};
}

Response note_on_unit(const Place& place, const Request& request, const std::string& bar) {
    if (!place.has_book())
        return no_book(place, bar);
    cli::BookOptions options = options_of(place);
    options.unit = request.parts.front();
    options.text = request.form.filled("text").value_or("");
    options.day = request.form.filled("date");
    if (const Status noted = cli::note_repair(options); !noted)
        return unit_page(place, request, bar, said_wrong(noted.error()));
    return see("/units/" + encoded(options.unit));
}

} // namespace dropledger::station
