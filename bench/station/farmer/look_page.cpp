// What a dropped table holds: its first rows, and which column is which.
#include "bench/station/farmer/farmer.hpp"

#include "analysis/base/nearest.hpp"
#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/base/text.hpp"
#include "analysis/field/table/mapping.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/inputs/settings_text.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::size_t rows_shown = 8;

using Row = std::vector<std::string>;

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
    return text;
}

Result<std::vector<Row>> first_rows(const std::string& file) {
    auto source = files::open_file(file)();
    if (!source)
        return source.error();
    CsvReader reader(**source);
    std::vector<Row> rows;
    CsvRecord record;
    while (rows.size() < rows_shown) {
        const auto more = reader.next(record);
        if (!more)
            return more.error();
        if (!*more)
            break;
        rows.emplace_back(record.fields.begin(), record.fields.end());
    }
    return rows;
}

std::string preview(const std::vector<Row>& rows) {
    std::string body;
    for (const Row& row : rows) {
        std::string cells;
        for (const std::string& cell : row)
            cells += element("td", "", escaped(cell));
        body += element("tr", "", cells);
    }
    return element("div", "class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"first rows\"",
                   element("table", "class=\"preview\"", element("tbody", "", body)));
}

// The widest row of the first ones: titles above it are narrower.
const Row& header_of(const std::vector<Row>& rows) {
    return *std::max_element(rows.begin(), rows.end(),
                             [](const Row& a, const Row& b) { return a.size() < b.size(); });
}

// What is remembered, else the same name, else one that is near.
std::string guess(std::string_view ours, const Row& header, const field::Mapping& mapping,
                  std::size_t column) {
    const std::vector<std::string_view> theirs(header.begin(), header.end());
    for (const std::string_view wanted : {std::string_view(mapping.names[column]), ours})
        for (const std::string_view name : theirs)
            if (lower(std::string(trim(name))) == lower(std::string(wanted)))
                return std::string(name);
    const auto near = nearest(ours, theirs);
    return std::string(near.value_or(std::string_view{}));
}

constexpr std::array<const char*, field::column_count> meanings{"Time",
                                                                "Pass",
                                                                "Row of the machine",
                                                                "Number of the drop",
                                                                "Latitude",
                                                                "Longitude",
                                                                "Metres east",
                                                                "Metres north",
                                                                "Seeds commanded",
                                                                "Seeds seen",
                                                                "Alert given",
                                                                "Placement error",
                                                                "Name of the field"};

std::string column_fields(const Row& header, const field::Mapping& mapping) {
    std::string fields;
    for (std::size_t i = 0; i < field::column_count; ++i) {
        std::vector<Option> options{{"", "not in this table"}};
        for (const std::string& name : header)
            options.push_back({name, name});
        fields += select_field({.name = field::column_names[i],
                                .label = meanings[i],
                                .help = field::column_names[i],
                                .value = guess(field::column_names[i], header, mapping, i),
                                .options = std::move(options)});
    }
    return element("div", "class=\"row2\"", fields);
}

Result<field::Mapping> remembered(const std::string& file) {
    if (!std::filesystem::exists(file))
        return field::Mapping{};
    const auto text = files::whole_file(file, std::size_t{1} << 20U);
    if (!text)
        return text.error();
    return field::parse_mapping(*text, file);
}

std::string mapping_text(const Fields& form) {
    std::string text =
        "# What the columns of this machine's tables mean; written by the station.\n";
    if (form.value("decimal-comma") == "yes")
        text += "decimal_comma = true\n";
    text += "[columns]\n";
    for (const std::string_view ours : field::column_names)
        if (const auto theirs = form.filled(ours); theirs && lower(*theirs) != ours)
            text += fmt::format("{} = {}\n", ours, cli::toml_text(*theirs));
    if (const auto unit = form.filled("offset-unit"); unit && *unit != "mm")
        text += fmt::format("[units]\noffset_mm = {}\n", cli::toml_text(*unit));
    return text;
}

} // namespace

Response Farmer::look_page(const Request& request, const std::string& trouble) const {
    const Fields& asked = request.method == Method::get ? request.query : request.form;
    const auto tables = tables_of(asked);
    if (!tables)
        return first_page(said_wrong(tables.error()));
    const auto rows = first_rows(tables->front());
    if (!rows)
        return first_page(said_wrong(rows.error()));
    if (rows->empty())
        return first_page(said_wrong(input_error(tables->front(), "the table is empty", "")));
    const auto mapping = remembered(mapping_file());
    std::string hidden;
    for (const std::string& table : asked.values("table"))
        hidden += hidden_field("table", table);
    std::string body =
        heading1("What do the columns mean?") + trouble +
        (mapping ? std::string{} : said_wrong(mapping.error())) + preview(*rows) +
        form({.action = "/field/mapping",
              .fields = hidden +
                        column_fields(header_of(*rows), mapping ? *mapping : field::Mapping{}) +
                        select_field({.name = "offset-unit",
                                      .label = "Placement errors are in",
                                      .value = "mm",
                                      .options = {{"mm", "mm"}, {"cm", "cm"}, {"m", "m"}}}) +
                        select_field({.name = "decimal-comma",
                                      .label = "Numbers are written",
                                      .value = mapping && mapping->decimal_comma ? "yes" : "",
                                      .options = {{"", "1.5"}, {"yes", "1,5"}}}),
              .button = "That is what they mean: judge the night"});
    return shown("Columns", body);
}

Response Farmer::take_mapping(const Request& request) const {
    const std::string text = mapping_text(request.form);
    if (const auto fits = field::parse_mapping(text, mapping_file()); !fits)
        return look_page(request, said_wrong(fits.error()));
    if (const Status written = files::write_file_aside(mapping_file(), text); !written)
        return look_page(request, said_wrong(written.error()));
    std::string query;
    for (const std::string& table : request.form.values("table"))
        query += (query.empty() ? "?table=" : "&table=") + encoded(table);
    return see("/field/result" + query);
}

} // namespace dropledger::station
