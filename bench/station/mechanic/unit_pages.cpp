#include "bench/station/mechanic/unit_pages.hpp"

#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/book/book.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

cli::BookOptions options_of(const Place& place) {
    cli::BookOptions options;
    options.book = *place.book;
    return options;
}

std::string unit_row(const cli::UnitLine& line) {
    std::string due;
    for (const std::string& one : line.due)
        due += element("div", "", escaped(one));
    return element("tr", "",
                   element("th", "scope=\"row\"",
                           link("/units/" + encoded(line.unit.unit), line.unit.unit)) +
                       element("td", "", report::html::outcome_tag(line.unit.last_outcome)) +
                       element("td", "class=\"n\"", fmt::to_string(line.unit.runs)) +
                       element("td", "", escaped(cli::local_words(line.unit.last))) +
                       element("td", "", due)) +
           "\n";
}

Response no_book(const std::string& bar) {
    return {
        .body = page(
            {.title = "Units",
             .here = "/units",
             .body = heading1("Units") +
                     text_line("A book keeps each unit's runs, repairs and calibrations over the "
                               "seasons. This station was started without one, or nothing was "
                               "entered yet: start it with a book, and each run is entered at "
                               "its end.",
                               "lead"),
             .bar = bar})};
}

bool has_book(const Place& place) {
    return place.book && std::filesystem::exists(*place.book);
}

} // namespace

Response units_page(const Place& place, const std::string& bar) {
    if (!has_book(place))
        return no_book(bar);
    const auto lines = cli::unit_lines(options_of(place));
    if (!lines)
        return {.body = page({.title = "Units",
                              .here = "/units",
                              .body = heading1("Units") + said_wrong(lines.error()),
                              .bar = bar})};
    std::string rows;
    for (const cli::UnitLine& line : *lines)
        rows += unit_row(line);
    std::string head;
    for (const char* const title : {"unit", "last verdict", "runs", "last run", "due"})
        head += element("th", "scope=\"col\"", title);
    return {.body = page({.title = "Units",
                          .here = "/units",
                          .body = heading1("Units") +
                                  element("div", "class=\"wide\"",
                                          element("table", "class=\"full\"",
                                                  element("thead", "", element("tr", "", head)) +
                                                      element("tbody", "", "\n" + rows))),
                          .bar = bar,
                          .as_report = true})};
}

Response unit_page(const Place& place, const Request& request, const std::string& bar,
                   const std::string& trouble) {
    if (!has_book(place))
        return no_book(bar);
    cli::BookOptions options = options_of(place);
    options.unit = request.parts.front();
    const auto trends = cli::unit_trends(options);
    const std::string body =
        trends ? trouble + cli::trend_body(*trends) + heading2("It was repaired") +
                     form({.action = "/units/" + encoded(options.unit),
                           .fields =
                               text_field({.name = "text",
                                           .label = "What was done?",
                                           .help = "From here on the unit has a new usual range.",
                                           .needed = true}),
                           .button = "Note the repair",
                           .is_go = false})
               : heading1("Unit " + options.unit) + said_wrong(trends.error());
    return {.body = page({.title = "Unit " + options.unit,
                          .here = "/units",
                          .body = body,
                          .bar = bar,
                          .as_report = true})};
}

Response note_on_unit(const Place& place, const Request& request, const std::string& bar) {
    if (!has_book(place))
        return no_book(bar);
    cli::BookOptions options = options_of(place);
    options.unit = request.parts.front();
    options.text = request.form.filled("text").value_or("");
    if (const Status noted = cli::note_repair(options); !noted)
        return unit_page(place, request, bar, said_wrong(noted.error()));
    return see("/units/" + encoded(options.unit));
}

} // namespace dropledger::station
