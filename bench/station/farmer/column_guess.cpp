// What a table's columns are likely to mean, by their names and first rows; and what was said before.
#include "bench/station/farmer/column_choices.hpp"

#include "analysis/base/nearest.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <functional>
#include <iterator>
#include <map>

namespace dropledger::station {

namespace {

using field::Column;

struct Word {
    std::string_view word;
    Column column;
};
// As machines and spreadsheets name such columns, in English and German.
constexpr std::array words{Word{"timestamp", Column::time},
                           Word{"datetime", Column::time},
                           Word{"date", Column::time},
                           Word{"datetimeutc", Column::time},
                           Word{"clock", Column::time},
                           Word{"zeit", Column::time},
                           Word{"uhrzeit", Column::time},
                           Word{"zeitstempel", Column::time},
                           Word{"datum", Column::time},
                           Word{"track", Column::pass},
                           Word{"swath", Column::pass},
                           Word{"lane", Column::pass},
                           Word{"passno", Column::pass},
                           Word{"spur", Column::pass},
                           Word{"fahrt", Column::pass},
                           Word{"rowno", Column::row},
                           Word{"reihe", Column::row},
                           Word{"unit", Column::row},
                           Word{"channel", Column::row},
                           Word{"dropno", Column::drop},
                           Word{"ablage", Column::drop},
                           Word{"index", Column::drop},
                           Word{"nr", Column::drop},
                           Word{"no", Column::drop},
                           Word{"latitude", Column::lat},
                           Word{"breite", Column::lat},
                           Word{"breitengrad", Column::lat},
                           Word{"longitude", Column::lon},
                           Word{"lng", Column::lon},
                           Word{"long", Column::lon},
                           Word{"länge", Column::lon},
                           Word{"laenge", Column::lon},
                           Word{"längengrad", Column::lon},
                           Word{"east", Column::east_m},
                           Word{"easting", Column::east_m},
                           Word{"x", Column::east_m},
                           Word{"ost", Column::east_m},
                           Word{"ostwert", Column::east_m},
                           Word{"rechtswert", Column::east_m},
                           Word{"north", Column::north_m},
                           Word{"northing", Column::north_m},
                           Word{"y", Column::north_m},
                           Word{"nord", Column::north_m},
                           Word{"nordwert", Column::north_m},
                           Word{"hochwert", Column::north_m},
                           Word{"commanded", Column::target},
                           Word{"soll", Column::target},
                           Word{"set", Column::target},
                           Word{"seedsset", Column::target},
                           Word{"detected", Column::seen},
                           Word{"counted", Column::seen},
                           Word{"ist", Column::seen},
                           Word{"seeds", Column::seen},
                           Word{"seedsseen", Column::seen},
                           Word{"gesehen", Column::seen},
                           Word{"alarm", Column::alert},
                           Word{"warning", Column::alert},
                           Word{"warnung", Column::alert},
                           Word{"offset", Column::offset_mm},
                           Word{"error", Column::offset_mm},
                           Word{"placement", Column::offset_mm},
                           Word{"abweichung", Column::offset_mm},
                           Word{"plot", Column::field},
                           Word{"parcel", Column::field},
                           Word{"feld", Column::field},
                           Word{"schlag", Column::field}};

std::string_view name_of_column(Column column) {
    return field::column_names.at(static_cast<std::size_t>(column));
}

// The unit that a name ends in: "Ost [cm]", "error (mm)", "time_ms".
std::string_view unit_in(std::string_view name) {
    while (!name.empty() && (name.back() == ']' || name.back() == ')' || name.back() == ' '))
        name.remove_suffix(1);
    const auto at = name.find_last_of("[(_ -./");
    return at == std::string_view::npos ? std::string_view{} : trim(name.substr(at + 1));
}

bool is_known_unit(std::string_view unit, std::string_view column) {
    const auto units = field::column_units();
    return std::any_of(units.begin(), units.end(), [&](const field::ColumnUnit& one) {
        return one.name == unit && one.of == column;
    });
}

// Small letters and digits only, without a unit behind them.
std::string bare(std::string_view name, bool without_unit) {
    if (without_unit)
        if (const auto unit = unit_in(name); !unit.empty())
            name = name.substr(0, static_cast<std::size_t>(unit.data() - name.data()) - 1);
    std::string text;
    for (const char c : name) {
        const auto code = static_cast<unsigned char>(c);
        if (std::isalnum(code) != 0 || code >= 0x80U)
            text += static_cast<char>(std::tolower(code));
    }
    return text;
}

bool is_word_for(Column column, const std::string& text) {
    return std::any_of(words.begin(), words.end(),
                       [&](const Word& one) { return one.column == column && one.word == text; });
}

using Free = std::vector<std::string>; // names of theirs that mean nothing yet

std::string taken(Free& free, const std::function<bool(const std::string&)>& fits) {
    const auto found = std::find_if(free.begin(), free.end(), fits);
    if (found == free.end())
        return {};
    std::string name = std::move(*found);
    free.erase(found);
    return name;
}

std::string same_name(Column column, const TableLook& look, Free& free) {
    const auto same = look.column(name_of_column(column));
    return taken(free, [&](const std::string& theirs) { return theirs == same; });
}

std::string same_meaning(Column column, Free& free) {
    const std::string ours = bare(name_of_column(column), true);
    for (const bool without_unit : {false, true})
        if (std::string found = taken(free,
                                      [&](const std::string& theirs) {
                                          const std::string text = bare(theirs, without_unit);
                                          return text == ours || is_word_for(column, text);
                                      });
            !found.empty())
            return found;
    return {};
}

std::string near_name(Column column, Free& free) {
    const auto near = nearest(name_of_column(column), {free.begin(), free.end()});
    return near ? taken(free, [near = std::string(*near)](
                                  const std::string& theirs) { return theirs == near; })
                : std::string{};
}

// Names that no column of ours has yet are tried by one rule.
template <class Rule>
void find_names(std::array<std::string, field::column_count>& names, Rule rule) {
    for (std::size_t i = 0; i < names.size(); ++i)
        if (names.at(i).empty())
            names.at(i) = rule(static_cast<Column>(i));
}

// The same names before those that mean the same, those before names that are near.
std::array<std::string, field::column_count> guessed_names(const TableLook& look) {
    Free free;
    std::copy_if(look.columns.begin(), look.columns.end(), std::back_inserter(free),
                 [](const std::string& name) { return !name.empty(); });
    std::array<std::string, field::column_count> names;
    find_names(names, [&](Column column) { return same_name(column, look, free); });
    find_names(names, [&](Column column) { return same_meaning(column, free); });
    find_names(names, [&](Column column) { return near_name(column, free); });
    return names;
}

// Degrees are at most 180; what is more is counted in ten millionths.
std::string unit_of_degrees(const std::vector<std::string>& texts) {
    constexpr double most_degrees = 180.0;
    const bool beyond = std::any_of(texts.begin(), texts.end(), [](const std::string& text) {
        return std::abs(number_in(text).value_or(0.0)) > most_degrees;
    });
    return beyond ? "1e-7deg" : "";
}

// Nothing of an unknown one.
std::string said_order(field::DateOrder order) {
    if (order == field::DateOrder::unknown)
        return {};
    return order == field::DateOrder::day_first ? "day" : "month";
}

std::string order_in(const std::vector<std::string>& times) {
    for (const std::string& text : times)
        if (const auto time = field::parse_table_time(text, {}))
            if (time->shows != field::DateOrder::unknown)
                return said_order(time->shows);
    return {};
}

// The unit that a factor stands for.
std::string unit_by(double factor, std::size_t column) {
    for (const field::ColumnUnit& one : field::column_units())
        if (one.of == field::column_names.at(column) && std::abs(one.factor - factor) < 1e-12)
            return std::string(one.name);
    return {};
}

// All but columns and units.
std::map<std::string_view, std::string> written_in(const field::Mapping& mapping) {
    std::map<std::string_view, std::string> said;
    if (mapping.separator)
        said[choice::separator] = std::string(1, *mapping.separator);
    said[choice::decimal_comma] = mapping.decimal_comma ? "yes" : "no";
    if (mapping.date_order != field::DateOrder::unknown)
        said[choice::date_order] = said_order(mapping.date_order);
    said[choice::time_zone] = mapping.zone_name.value_or(std::string{});
    if (mapping.zone && !mapping.zone_name)
        said[choice::utc_offset] = fmt::to_string(mapping.zone->minutes_at(0.0));
    said[choice::system] = mapping.utm ? "utm" : "plane";
    if (mapping.utm)
        said[choice::utm_zone] =
            fmt::format("{}{}", mapping.utm->zone, mapping.utm->north ? 'N' : 'S');
    return said;
}

} // namespace

Choices Choices::guessed(const TableLook& look) {
    Choices choices;
    const auto names = guessed_names(look);
    for (std::size_t i = 0; i < field::column_count; ++i) {
        const std::string_view ours = field::column_names.at(i);
        const std::string& theirs = names.at(i);
        choices.said_.emplace(ours, theirs);
        if (const auto unit = unit_in(theirs); is_known_unit(unit, ours))
            choices.said_[unit_of(ours)] = unit;
    }
    for (const char* const angle : {"lat", "lon"})
        choices.said_[unit_of(angle)] = unit_of_degrees(look.values(choices.of(angle)));
    choices.said_.emplace(choice::date_order, order_in(look.values(choices.of("time"))));
    if (comma_in(look) == Comma::decimal)
        choices.said_.emplace(choice::decimal_comma, "yes");
    return choices;
}

std::optional<Choices> Choices::remembered(const field::Mapping& mapping, const TableLook& look) {
    if (!station::read_as(look, mapping))
        return std::nullopt;
    Choices choices;
    for (std::size_t i = 0; i < field::column_count; ++i)
        choices.said_.emplace(field::column_names.at(i),
                              look.column(mapping.names.at(i)).value_or(std::string{}));
    for (std::size_t i = 0; i < field::column_count; ++i)
        if (const std::string name = unit_of(field::column_names.at(i));
            mapping.factors.at(i) != 1.0 || choices.must_be_said(name, look))
            choices.said_[name] = unit_by(mapping.factors.at(i), i);
    for (auto& [name, value] : written_in(mapping))
        choices.said_.emplace(name, value);
    return choices;
}

} // namespace dropledger::station
