#include "analysis/field/table/mapping.hpp"

#include "analysis/base/readers/toml_table.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::field {

namespace {

constexpr std::array units{
    ColumnUnit{"s", "time", 1.0},         ColumnUnit{"ms", "time", 1e-3},
    ColumnUnit{"us", "time", 1e-6},       ColumnUnit{"day", "time", 86'400.0},
    ColumnUnit{"mm", "offset_mm", 1.0},   ColumnUnit{"cm", "offset_mm", 10.0},
    ColumnUnit{"m", "offset_mm", 1000.0}, ColumnUnit{"m", "east_m", 1.0},
    ColumnUnit{"cm", "east_m", 0.01},     ColumnUnit{"mm", "east_m", 0.001},
    ColumnUnit{"ft", "east_m", 0.3048},   ColumnUnit{"m", "north_m", 1.0},
    ColumnUnit{"cm", "north_m", 0.01},    ColumnUnit{"mm", "north_m", 0.001},
    ColumnUnit{"ft", "north_m", 0.3048},  ColumnUnit{"deg", "lat", 1.0},
    ColumnUnit{"1e-7deg", "lat", 1e-7},   ColumnUnit{"deg", "lon", 1.0},
    ColumnUnit{"1e-7deg", "lon", 1e-7}};

std::optional<std::size_t> column_of(std::string_view name) {
    const auto found = std::find(column_names.begin(), column_names.end(), name);
    if (found == column_names.end())
        return std::nullopt;
    return static_cast<std::size_t>(found - column_names.begin());
}

std::optional<std::size_t> known_column(TomlTable& table, const std::string& name) {
    const auto column = column_of(name);
    if (!column)
        table.fail(name, fmt::format("'{}' is no column of ours", name),
                   fmt::format("use {}", fmt::join(column_names, ", ")));
    return column;
}

void read_columns(TomlTable table, Mapping& mapping) {
    for (const std::string& key : table.keys()) {
        const auto column = known_column(table, key);
        const auto theirs = table.as_text(key);
        if (column && theirs)
            mapping.names.at(*column) = *theirs;
        else
            table.fail(key, fmt::format("columns.{} is no text", key), "name their column");
    }
}

void read_units(TomlTable table, Mapping& mapping) {
    for (const std::string& key : table.keys()) {
        const auto column = known_column(table, key);
        const std::string unit = table.as_text(key).value_or("");
        const auto found = std::find_if(units.begin(), units.end(), [&](const ColumnUnit& known) {
            return known.name == unit && known.of == key;
        });
        if (column && found != units.end()) {
            mapping.factors.at(*column) = found->factor;
            if (unit == "day") // spreadsheets count from 1899-12-30
                mapping.time_zero_s = -25'569.0 * 86'400.0;
        } else {
            table.fail(key, fmt::format("'{}' is no unit known for {}", unit, key),
                       "time: s, ms, us, day (a spreadsheet's); lengths: mm, cm, m, and ft for "
                       "positions; lat, lon: "
                       "deg, 1e-7deg");
        }
    }
}

void read_zone(TomlTable& root, Mapping& mapping) {
    const auto text = root.as_text("utm_zone");
    if (!text)
        return;
    const char half = text->empty() ? ' ' : text->back();
    const auto zone =
        parse_int(std::string_view(*text).substr(0, text->empty() ? 0 : text->size() - 1));
    const bool north = half == 'N' || half == 'n';
    const bool south = half == 'S' || half == 's';
    if (zone && *zone >= 1 && *zone <= 60 && (north || south))
        mapping.utm = UtmZone{static_cast<int>(*zone), north};
    else
        root.fail("utm_zone", fmt::format("'{}' is no UTM zone", *text),
                  "give the number and N or S for the half of the globe: 33N");
}

void read_offset(TomlTable& root, Mapping& mapping) {
    constexpr std::int64_t most_minutes = 1440;
    const auto minutes = root.as_whole("utc_offset_minutes");
    if (minutes && (*minutes < -most_minutes || *minutes > most_minutes))
        root.fail("utc_offset_minutes", fmt::format("{} minutes are over a day", *minutes),
                  "give the minutes that local time is ahead of UTC");
    if (minutes)
        mapping.zone = fixed_zone(*minutes);
    mapping.zone_name = root.as_text("time_zone");
    if (minutes && mapping.zone_name)
        root.fail("time_zone", "time_zone and utc_offset_minutes at once", "give one of them");
}

void read_date_order(TomlTable& root, Mapping& mapping) {
    const auto text = root.as_text("date_order");
    if (!text)
        return;
    if (*text == "day")
        mapping.date_order = DateOrder::day_first;
    else if (*text == "month")
        mapping.date_order = DateOrder::month_first;
    else
        root.fail("date_order", fmt::format("'{}' is no order", *text),
                  "say which comes first: \"day\" or \"month\"");
}

bool is_of_its_kind(const TomlTable& root, const std::string& key) {
    if (key == "separator") {
        const auto text = root.as_text(key);
        return text && text->size() == 1;
    }
    if (key == "decimal_comma")
        return root.as_flag(key).has_value();
    if (key == "utc_offset_minutes")
        return root.as_whole(key).has_value();
    if (key == "utm_zone" || key == "date_order" || key == "time_zone")
        return root.as_text(key).has_value();
    return (key == "columns" || key == "units") && root.has_table(key);
}

Mapping read(TomlTable root) {
    for (const std::string& key : root.keys())
        if (!is_of_its_kind(root, key))
            root.fail(key, fmt::format("'{}' is not known or of the wrong kind", key),
                      "separator (one character), decimal_comma (true or false), utm_zone, "
                      "time_zone, utc_offset_minutes, date_order, [columns], [units]");
    Mapping mapping;
    if (const auto separator = root.as_text("separator"); separator && separator->size() == 1)
        mapping.separator = separator->front();
    mapping.decimal_comma = root.as_flag("decimal_comma").value_or(false);
    read_zone(root, mapping);
    read_offset(root, mapping);
    read_date_order(root, mapping);
    if (root.has_table("columns"))
        read_columns(*root.table("columns"), mapping);
    if (root.has_table("units"))
        read_units(*root.table("units"), mapping);
    if (mapping.decimal_comma && mapping.separator.value_or(',') == ',')
        root.fail("decimal_comma", "the comma is separator and decimal mark at once",
                  "give the separator, say \";\"");
    return mapping;
}

} // namespace

std::span<const ColumnUnit> column_units() {
    return units;
}

Mapping::Mapping() : names{}, factors{} {
    std::copy(column_names.begin(), column_names.end(), names.begin());
    factors.fill(1.0);
}

Result<Mapping> parse_mapping(std::string_view text, const std::string& file) {
    auto document = TomlDocument::parse(text, file);
    if (!document)
        return document.error();
    const Mapping mapping = read(document->root());
    if (document->problem())
        return *document->problem();
    return mapping;
}

} // namespace dropledger::field
