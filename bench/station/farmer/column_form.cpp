#include "bench/station/farmer/column_form.hpp"

#include "analysis/measures/number_words.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/station/pages/fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::size_t rows_shown = 5;

constexpr std::array<const char*, field::column_count> meanings{"Time",
                                                                "Pass",
                                                                "Row of the machine",
                                                                "Number of the drop",
                                                                "Latitude",
                                                                "Longitude",
                                                                "Way east",
                                                                "Way north",
                                                                "Seeds commanded",
                                                                "Seeds seen",
                                                                "Alert given",
                                                                "Placement error",
                                                                "Name of the field"};

// How the page calls what can be said beside the columns.
struct Call {
    std::string_view name;
    const char* label;
};
constexpr std::array<Call, 13> calls{{{"unit-time", "Times are counted in"},
                                      {"unit-lat", "Latitudes are in"},
                                      {"unit-lon", "Longitudes are in"},
                                      {"unit-east_m", "Ways east are in"},
                                      {"unit-north_m", "Ways north are in"},
                                      {"unit-offset_mm", "Placement errors are in"},
                                      {choice::date_order, "Dates like 3/4/2026 have first"},
                                      {choice::time_zone, "Time zone of times that state none"},
                                      {choice::utc_offset, "or minutes that they are ahead of UTC"},
                                      {choice::system, "Ways east and north are"},
                                      {choice::utm_zone, "UTM zone"},
                                      {choice::decimal_comma, "Numbers are written"},
                                      {choice::separator, "Columns are separated by"}}};

const char* label_of(std::string_view name) {
    const auto* const found = std::find_if(calls.begin(), calls.end(),
                                           [&](const Call& call) { return call.name == name; });
    return found->label;
}

std::string table_of(const std::vector<std::string>& names, const std::string& rows,
                     const char* label) {
    std::string head;
    for (const std::string& name : names)
        head += element("th", "scope=\"col\"", escaped(name));
    return report::pictures::scrolling(
        label, element("table", "class=\"preview\"",
                       element("thead", "", element("tr", "", head)) + element("tbody", "", rows)));
}

std::string row_of(const std::vector<std::string>& cells, std::size_t width) {
    std::string text;
    for (std::size_t i = 0; i < width; ++i)
        text += element("td", "", i < cells.size() ? escaped(cells[i]) : "");
    return element("tr", "", text);
}

// What a column's first row becomes.
enum class Shows { time, place, offset };

std::string sample(const TableLook& look, const Choices& choices, Shows shows) {
    constexpr std::size_t enough = 50; // rows: the first good one is shown
    const auto reading = read_as(look, choices, enough);
    const ReadRow* const row = reading ? reading->first_good() : nullptr;
    if (row == nullptr)
        return "no row can be read";
    if (shows == Shows::time)
        return reading->time_of(*row);
    if (shows == Shows::place)
        return reading->place_of(*row);
    return row->drop.has_offset ? fmt::format("{:.1f} mm", row->drop.offset_mm) : "says nothing";
}

// A choice of several, each with what it makes of the first row.
struct Choosing {
    std::string_view name;
    std::vector<Option> options;
    Shows shows;
};

std::string choosing(const TableLook& look, const Choices& choices, Choosing about) {
    const bool has_no_zone = choices.of(choice::utm_zone).empty();
    for (Option& option : about.options)
        if (option.value != "utm" || !has_no_zone)
            option.words +=
                ": " + sample(look, choices.with(about.name, option.value), about.shows);
    const bool must = choices.must_be_said(about.name, look);
    if (must)
        about.options.insert(about.options.begin(), {"", "please say"});
    return select_field({.name = about.name,
                         .label = label_of(about.name),
                         .help = must ? "the table cannot tell" : "",
                         .value = choices.of(about.name),
                         .options = std::move(about.options),
                         .needed = must});
}

std::string unit_field(const TableLook& look, const Choices& choices, std::string_view column,
                       Shows shows) {
    std::vector<Option> options;
    const std::string name = unit_of(column);
    if (column == "time" && !choices.must_be_said(name, look))
        options.push_back({"", "as they are written"});
    for (const field::ColumnUnit& unit : field::column_units())
        if (unit.of == column)
            options.push_back({std::string(unit.name), std::string(unit.name)});
    return choosing(look, choices, {name, std::move(options), shows});
}

std::string time_fields(const TableLook& look, const Choices& choices) {
    const std::vector<std::string> times = look.values(choices.of("time"));
    if (times.empty())
        return {};
    const bool counted = std::none_of(times.begin(), times.end(), [](const std::string& time) {
        return time.find_first_of(":-/") != std::string::npos;
    });
    std::string text;
    if (counted || !choices.of(unit_of("time")).empty())
        text += unit_field(look, choices, "time", Shows::time);
    if (choices.must_be_said(choice::date_order, look) || !choices.of(choice::date_order).empty())
        text += choosing(
            look, choices,
            {choice::date_order, {{"day", "the day"}, {"month", "the month"}}, Shows::time});
    return text +
           text_field({choice::time_zone, label_of(choice::time_zone),
                       "Europe/Berlin; where none is said, the table's own clock",
                       choices.of(choice::time_zone), false}) +
           text_field({choice::utc_offset, label_of(choice::utc_offset),
                       "120; leave one of both out", choices.of(choice::utc_offset), false});
}

std::string place_fields(const TableLook& look, const Choices& choices) {
    std::string text;
    if (!choices.has_plane_places()) {
        for (const char* const column : {"lat", "lon"})
            if (!choices.of(column).empty())
                text += unit_field(look, choices, column, Shows::place);
        return text;
    }
    for (const char* const column : {"east_m", "north_m"})
        text += unit_field(look, choices, column, Shows::place);
    text += choosing(look, choices,
                     {choice::system,
                      {{"utm", "UTM, in the zone beside"},
                       {"plane", "of a system of their own, without degrees"}},
                      Shows::place});
    return text + text_field({choice::utm_zone, label_of(choice::utm_zone),
                              "33N: its number, N or S for the half of the globe",
                              choices.of(choice::utm_zone), false});
}

std::string separator_words(char separator) {
    switch (separator) {
    case '\t':
        return "a tabulator";
    case ',':
        return "a comma";
    case ';':
        return "a semicolon";
    default:
        return fmt::format("the sign {}", separator);
    }
}

std::string number_fields(const TableLook& look, const Choices& choices) {
    std::vector<Option> separators{
        {"", fmt::format("what the table shows: {}", separator_words(look.separator))}};
    std::string known = ";,\t|";
    if (const auto said = choices.separator(); said && known.find(*said) == std::string::npos)
        known += *said;
    for (const char one : known)
        separators.push_back({std::string(1, one), separator_words(one)});
    std::string text = select_field({.name = choice::separator,
                                     .label = label_of(choice::separator),
                                     .value = choices.of(choice::separator),
                                     .options = std::move(separators)});
    if (look.separator == ',')
        return text;
    const bool must = choices.must_be_said(choice::decimal_comma, look);
    return text + select_field({.name = choice::decimal_comma,
                                .label = label_of(choice::decimal_comma),
                                .help = must ? "the table cannot tell: 1,234 may be either" : "",
                                .value = choices.of(choice::decimal_comma),
                                .options = {{"", must ? "please say" : "as the table shows"},
                                            {"no", "with a point: 1.5"},
                                            {"yes", "with a comma: 1,5"}},
                                .needed = must});
}

std::string offset_field(const TableLook& look, const Choices& choices) {
    return choices.of("offset_mm").empty() ? std::string{}
                                           : unit_field(look, choices, "offset_mm", Shows::offset);
}

std::vector<std::string> heads_of(const Reading& reading) {
    std::vector<std::string> heads;
    if (reading.has_fields)
        heads.emplace_back("field");
    for (const char* const head : {"pass", "row", "drop", "time", "place", "commanded", "seen"})
        heads.emplace_back(head);
    if (reading.has_alerts)
        heads.emplace_back("alert");
    if (reading.has_offsets)
        heads.emplace_back("placement error");
    return heads;
}

std::string read_row(const Reading& reading, const ReadRow& row, std::size_t width) {
    if (!row.reason.empty())
        return element("tr", "",
                       element("td", fmt::format("colspan=\"{}\"", width),
                               escaped("kept out: " + row.reason)));
    std::vector<std::string> cells;
    if (reading.has_fields)
        cells.push_back(row.field);
    cells.insert(cells.end(), {row.pass, row.row, fmt::to_string(row.drop.drop),
                               reading.time_of(row), reading.place_of(row),
                               fmt::to_string(row.drop.target), fmt::to_string(row.drop.seen)});
    if (reading.has_alerts)
        cells.emplace_back(row.drop.alert ? "yes" : "no");
    if (reading.has_offsets)
        cells.push_back(row.drop.has_offset ? fmt::format("{:.1f} mm", row.drop.offset_mm) : "");
    return row_of(cells, width);
}

// "Of the first 400 rows 3 are kept out: seen 'x' is no whole number."
std::string count_of(const TableLook& look, const Reading& reading) {
    if (reading.rows.empty())
        return "It has no rows below its names.";
    const std::string which = fmt::format("{} {} {}", look.is_whole ? "All its" : "Its first",
                                          grouped(static_cast<std::int64_t>(reading.rows.size())),
                                          reading.rows.size() == 1 ? "row" : "rows");
    if (reading.kept_out == 0)
        return which + " can be read.";
    const auto bad = std::find_if(reading.rows.begin(), reading.rows.end(),
                                  [](const ReadRow& row) { return !row.reason.empty(); });
    return fmt::format("Of {} {} are kept out; the first: {}.",
                       static_cast<char>(std::tolower(which.front())) + which.substr(1),
                       grouped(reading.kept_out), bad->reason);
}

std::string read_rows(const TableLook& look, const Reading& reading) {
    const auto heads = heads_of(reading);
    std::string rows;
    for (std::size_t i = 0; i < std::min(rows_shown, reading.rows.size()); ++i)
        rows += read_row(reading, reading.rows[i], heads.size());
    return table_of(heads, rows, "what the first rows become") + text_line(count_of(look, reading));
}

} // namespace

std::string rows_as_they_stand(const TableLook& look) {
    std::string rows;
    for (std::size_t i = 0; i < std::min(rows_shown, look.rows.size()); ++i)
        rows += row_of(look.rows[i], look.columns.size());
    return table_of(look.columns, rows, "the first rows as they stand");
}

std::string column_fields(const TableLook& look, const Choices& choices) {
    std::string fields;
    for (std::size_t i = 0; i < field::column_count; ++i) {
        std::vector<Option> options{{"", std::string(choice::not_there)}};
        for (const std::string& name : look.columns)
            if (!name.empty())
                options.push_back({name, name});
        fields += select_field({.name = field::column_names[i],
                                .label = meanings[i],
                                .help = field::column_names[i],
                                .value = choices.of(field::column_names[i]),
                                .options = std::move(options)});
    }
    return element("div", "class=\"row2\"", fields) + heading2("How they are written") +
           element("div", "class=\"row2 written\"",
                   time_fields(look, choices) + place_fields(look, choices) +
                       offset_field(look, choices) + number_fields(look, choices));
}

std::string what_comes_of_it(const std::vector<TableLook>& looks, const Choices& choices) {
    std::string text = heading2("What comes of it");
    if (const auto lacking = choices.lacking(looks.front()); !lacking.empty())
        text += text_line("Not said yet: " + names_of(lacking) +
                              ". Until then this is one way of several to read it.",
                          "word");
    for (const TableLook& look : looks) {
        if (looks.size() > 1)
            text += element("h3", "", escaped(look.file));
        const auto reading = read_as(look, choices);
        text += reading ? read_rows(look, *reading) : said_wrong(reading.error());
    }
    return element("div", "id=\"comes\" aria-live=\"polite\"", text);
}

std::string names_of(const std::vector<std::string>& lacking) {
    std::string text;
    for (const std::string& name : lacking)
        text += (text.empty() ? "" : "; ") + std::string(label_of(name));
    return text;
}

} // namespace dropledger::station
