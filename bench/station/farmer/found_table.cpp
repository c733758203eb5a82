#include "bench/station/farmer/found_table.hpp"

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/base/text.hpp"
#include "analysis/field/input/findings.hpp"
#include "analysis/field/table/decoded_source.hpp"
#include "analysis/report/json/field_walk.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/pages/fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <numeric>
#include <vector>

namespace dropledger::station {

using report::pictures::element;

namespace {

constexpr std::size_t most_stops = 60; // that can be filled in on the page
constexpr std::string_view mark = "found:";
constexpr std::string_view shown_mark = "shown:"; // what its field held when the page was made
constexpr std::string_view header = "pass,row,first_drop,last_drop,found";

struct Found {
    std::string place; // pass,row,first_drop,last_drop
    std::string what;
};

Result<std::vector<Found>> read(const std::string& file) {
    std::vector<Found> all;
    if (!std::filesystem::exists(file))
        return all;
    const auto text = files::whole_file(file, files::most_table_bytes);
    if (!text)
        return text.error();
    bool is_first = true;
    for (std::string_view line : split(*text, '\n')) {
        line = trim(line);
        if (is_first && line != header)
            return input_error(std::filesystem::path(file).filename().string(),
                               "it has other columns than this page writes",
                               "work on it by `dropledger field --found`, or move it away");
        if (!is_first && !line.empty()) {
            const std::size_t last = std::min(line.rfind(','), line.size());
            all.push_back({std::string(line.substr(0, last)),
                           std::string(line.substr(std::min(last + 1, line.size())))});
        }
        is_first = false;
    }
    return all;
}

bool is_plain(const Found& found) {
    return found.place.find_first_of("\r\n") == std::string::npos &&
           found.what.find_first_of("\",;\r\n") == std::string::npos &&
           std::count(found.place.begin(), found.place.end(), ',') >= 3 &&
           (found.what.empty() || field::is_finding(found.what));
}

// A name as a field of the table.
std::string quoted(const std::string& name) {
    if (name.find_first_of("\",;\t") == std::string::npos)
        return name;
    std::string text = "\"";
    for (const char c : name)
        text += c == '"' ? std::string("\"\"") : std::string(1, c);
    return text + '"';
}

std::string words_of(const std::string& place) {
    const auto parts = split(place, ',');
    return parts.size() == 4 ? fmt::format("pass {}, row {}, drops {} to {}", parts[0], parts[1],
                                           parts[2], parts[3])
                             : place;
}

// Two pages may be open: what nobody has changed on this one is not said by it.
bool is_changed(const Fields& form, const Found& said) {
    const auto shown = form.value(std::string(shown_mark) + said.place);
    return !shown || *shown != said.what;
}

std::string finding_field(const std::string& place, const std::string& label,
                          const std::string& help, const std::string& what) {
    const std::string name = std::string(mark) + place;
    return text_field({name, label, help, what, false}) +
           hidden_field(std::string(shown_mark) + place, what);
}

std::string group(const char* title, const std::string& fields) {
    return fields.empty() ? std::string{}
                          : element("fieldset", "", element("legend", "", title) + fields);
}

std::string place_of(const field::FieldAudit& audit, const field::Gap& gap) {
    return fmt::format("{},{},{},{}", quoted(audit.field.pass_name(gap.key.pass)),
                       quoted(audit.field.row_name(gap.key.row)), gap.first_drop, gap.last_drop);
}

// Where to dig first, then in walking order.
std::vector<std::size_t> stops_of(const field::FieldAudit& audit) {
    std::vector<std::size_t> stops(audit.walk.stops.size());
    std::iota(stops.begin(), stops.end(), std::size_t{0});
    const auto first = std::find_if(stops.begin(), stops.end(), [&](std::size_t stop) {
        return audit.dig && audit.walk.stops[stop] == audit.dig->gap;
    });
    if (first != stops.end())
        std::rotate(stops.begin(), first, first + 1);
    stops.resize(std::min(stops.size(), most_stops));
    return stops;
}

} // namespace

Result<std::string> found_fields(const field::FieldAudit& audit, const std::string& file) {
    const auto before = read(file);
    if (!before)
        return before.error();
    std::string said;
    for (const Found& one : *before)
        said += finding_field(one.place, words_of(one.place), "blank takes it out", one.what);
    std::string open;
    for (const std::size_t stop : stops_of(audit)) {
        const field::Gap& gap = audit.gaps[audit.walk.stops[stop]];
        const std::string place = place_of(audit, gap);
        if (std::any_of(before->begin(), before->end(),
                        [&](const Found& one) { return one.place == place; }))
            continue;
        open += finding_field(place, report::field::stop_name(audit, stop), words_of(place), "");
    }
    if (!open.empty())
        open = text_line(std::string("At each say none, seed, or how many seeds lie there.") +
                         (audit.dig ? " The first settles most." : "")) +
               element("div", "class=\"row2\"", open);
    if (!said.empty())
        said = element("div", "class=\"row2\"", said);
    return group("Where you dug", said) + group("Stops of the walk", open);
}

namespace {

void put(std::vector<Found>& all, const Found& said) {
    const auto there = std::find_if(all.begin(), all.end(),
                                    [&](const Found& one) { return one.place == said.place; });
    if (there == all.end())
        all.push_back(said);
    else
        there->what = said.what;
}

std::string text_of(const std::vector<Found>& all) {
    std::string text = std::string(header) + "\n";
    for (const Found& one : all)
        if (!one.what.empty())
            text += fmt::format("{},{}\n", one.place, one.what);
    return text;
}

// Where the columns of `header` stand; empty where one lacks.
std::vector<std::size_t> columns_in(const CsvRecord& names) {
    std::vector<std::size_t> columns;
    for (const std::string_view wanted : split(header, ','))
        for (std::size_t i = 0; i < names.fields.size(); ++i)
            if (trim(names.fields[i]) == wanted)
                columns.push_back(i);
    return columns.size() == 5 ? columns : std::vector<std::size_t>{};
}

// The stops whose last column says something.
Result<std::vector<Found>> filled_in(const std::string& walk) {
    StringSource bytes(walk);
    field::DecodedSource decoded(bytes);
    CsvReader records(decoded);
    CsvRecord record;
    auto more = records.next(record);
    const auto columns = more && *more ? columns_in(record) : std::vector<std::size_t>{};
    if (columns.empty())
        return input_error(
            "", "this is no walking list",
            "fill in the last column of the list that is taken along, and drop that");
    std::vector<Found> all;
    for (more = records.next(record); more && *more; more = records.next(record)) {
        const auto text = [&](std::size_t at) {
            return columns[at] < record.fields.size()
                       ? std::string(trim(record.fields[columns[at]]))
                       : std::string{};
        };
        const Found one{
            fmt::format("{},{},{},{}", quoted(text(0)), quoted(text(1)), text(2), text(3)),
            text(4)};
        if (!one.what.empty() && !is_plain(one))
            return input_error("", fmt::format("'{}' is no finding", one.what),
                               "give none, seed, or a number");
        if (!one.what.empty())
            all.push_back(one);
    }
    if (!more)
        return more.error();
    return all;
}

} // namespace

Result<std::string> found_on_walk(const std::string& walk, const std::string& file) {
    auto before = read(file);
    if (!before)
        return before.error();
    const auto found = filled_in(walk);
    if (!found)
        return found.error();
    if (found->empty())
        return input_error("", "its column `found` is blank",
                           "say there what you found, and drop it again");
    for (const Found& one : *found)
        put(*before, one);
    return text_of(*before);
}

Result<std::string> found_table(const Fields& form, const std::string& file) {
    const auto before = read(file);
    if (!before)
        return before.error();
    std::vector<Found> all = *before;
    for (const auto& [name, value] : form.all()) {
        if (!name.starts_with(mark))
            continue;
        const Found said{name.substr(mark.size()), std::string(trim(value))};
        if (!is_plain(said))
            return usage_error("found", fmt::format("'{}' is no finding", said.what),
                               "give none, seed, or a number");
        if (!is_changed(form, said))
            continue;
        put(all, said);
    }
    return text_of(all);
}

} // namespace dropledger::station
