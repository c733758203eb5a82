#include "analysis/field/input/mapping.hpp"

#include "analysis/base/text.hpp"
#include "analysis/base/nesting.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>

namespace dropledger::field {

namespace {

struct Unit {
    std::string_view name;
    std::string_view of; // our column
    double factor;
};

constexpr std::array units{
    Unit{"s", "time", 1.0},       Unit{"ms", "time", 1e-3},      Unit{"us", "time", 1e-6},
    Unit{"mm", "offset_mm", 1.0}, Unit{"cm", "offset_mm", 10.0}, Unit{"m", "offset_mm", 1000.0},
    Unit{"m", "east_m", 1.0},     Unit{"cm", "east_m", 0.01},    Unit{"mm", "east_m", 0.001},
    Unit{"ft", "east_m", 0.3048}, Unit{"m", "north_m", 1.0},     Unit{"cm", "north_m", 0.01},
    Unit{"mm", "north_m", 0.001}, Unit{"ft", "north_m", 0.3048}, Unit{"deg", "lat", 1.0},
    Unit{"1e-7deg", "lat", 1e-7}, Unit{"deg", "lon", 1.0},       Unit{"1e-7deg", "lon", 1e-7}};

Error wrong(const std::string& file, std::string what, std::string remedy) {
    return {ErrorKind::input, file, std::move(what), std::move(remedy)};
}

std::optional<std::size_t> column_of(std::string_view name) {
    const auto found = std::find(column_names.begin(), column_names.end(), name);
    if (found == column_names.end())
        return std::nullopt;
    return static_cast<std::size_t>(found - column_names.begin());
}

Error no_column(const std::string& file, std::string_view name) {
    return wrong(file, fmt::format("'{}' is no column of ours", name),
                 fmt::format("use {}", fmt::join(column_names, ", ")));
}

Status read_columns(const toml::table& table, const std::string& file, Mapping& mapping) {
    for (const auto& [key, node] : table) {
        const auto column = column_of(key.str());
        if (!column)
            return no_column(file, key.str());
        const auto theirs = node.value<std::string>();
        if (!theirs)
            return wrong(file, fmt::format("columns.{} is no text", key.str()),
                         "name their column");
        mapping.names.at(*column) = *theirs;
    }
    return Done{};
}

Status read_units(const toml::table& table, const std::string& file, Mapping& mapping) {
    for (const auto& [key, node] : table) {
        const std::string_view name = key.str();
        const auto column = column_of(name);
        if (!column)
            return no_column(file, name);
        const std::string unit = node.value_or(std::string{});
        const auto found = std::find_if(units.begin(), units.end(), [&](const Unit& known) {
            return known.name == unit && known.of == name;
        });
        if (found == units.end())
            return wrong(file, fmt::format("'{}' is no unit known for {}", unit, name),
                         "time: s, ms, us; lengths: mm, cm, m, and ft for positions; lat, lon: "
                         "deg, 1e-7deg");
        mapping.factors.at(*column) = found->factor;
    }
    return Done{};
}

Status read_zone(const std::string& text, const std::string& file, Mapping& mapping) {
    const char half = text.empty() ? ' ' : text.back();
    const auto zone =
        parse_int(std::string_view(text).substr(0, text.empty() ? 0 : text.size() - 1));
    const bool north = half == 'N' || half == 'n';
    const bool south = half == 'S' || half == 's';
    if (!zone || *zone < 1 || *zone > 60 || !(north || south))
        return wrong(file, fmt::format("'{}' is no UTM zone", text),
                     "give the number and N or S for the half of the globe: 33N");
    mapping.utm = UtmZone{static_cast<int>(*zone), north};
    return Done{};
}

Status read_plain(const toml::table& table, const std::string& file, Mapping& mapping) {
    for (const auto& [key, node] : table) {
        const std::string_view name = key.str();
        if (name == "separator" && node.is_string() && node.value_or(std::string{}).size() == 1)
            mapping.separator = node.value_or(std::string{}).front();
        else if (name == "decimal_comma" && node.is_boolean())
            mapping.decimal_comma = node.value_or(false);
        else if (name == "utc_offset_minutes" && node.is_integer())
            mapping.utc_offset_minutes = node.value_or(std::int64_t{0});
        else if (name == "utm_zone" && node.is_string()) {
            if (const Status zone = read_zone(node.value_or(std::string{}), file, mapping); !zone)
                return zone.error();
        } else if ((name != "columns" && name != "units") || !node.is_table())
            return wrong(file, fmt::format("'{}' is not known or of the wrong kind", name),
                         "separator (one character), decimal_comma (true or false), utm_zone, "
                         "utc_offset_minutes, [columns], [units]");
    }
    return Done{};
}

Status read_tables(const toml::table& table, const std::string& file, Mapping& mapping) {
    if (const toml::table* const columns = table["columns"].as_table())
        if (const Status read = read_columns(*columns, file, mapping); !read)
            return read.error();
    if (const toml::table* const given = table["units"].as_table())
        return read_units(*given, file, mapping);
    return Done{};
}

} // namespace

Mapping::Mapping() : names{}, factors{} {
    std::copy(column_names.begin(), column_names.end(), names.begin());
    factors.fill(1.0);
}

Result<Mapping> parse_mapping(std::string_view text, const std::string& file) {
    if (const Status shallow = toml_is_shallow(text, file); !shallow)
        return shallow.error();
    toml::table table;
    try {
        table = toml::parse(text, file);
    } catch (const toml::parse_error& problem) {
        return wrong(fmt::format("{}:{}", file, problem.source().begin.line),
                     std::string(problem.description()), "correct the file");
    }
    Mapping mapping;
    if (const Status plain = read_plain(table, file, mapping); !plain)
        return plain.error();
    if (const Status tables = read_tables(table, file, mapping); !tables)
        return tables.error();
    if (mapping.decimal_comma && mapping.separator == ',')
        return wrong(file, "the comma is separator and decimal mark at once",
                     "give the separator, say \";\"");
    return mapping;
}

} // namespace dropledger::field
