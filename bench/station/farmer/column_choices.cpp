#include "bench/station/farmer/column_choices.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/inputs/field_table.hpp"
#include "bench/commands/inputs/settings_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace dropledger::station {

namespace {

// Not where there are none.
bool are_numbers(const std::vector<std::string>& texts) {
    return !texts.empty() && std::all_of(texts.begin(), texts.end(), [](const std::string& text) {
        return number_in(text).has_value();
    });
}

// No time of our days, counted from 1970 in a unit that its size tells: of the night, of the machine's
// start, or a spreadsheet's days.
bool is_counted_from_elsewhere(const std::vector<std::string>& times) {
    constexpr double year_1990_s = 6.3e8;
    constexpr double year_2200_s = 7.3e9;
    return are_numbers(times) &&
           std::any_of(times.begin(), times.end(), [](const std::string& text) {
               const auto time = field::parse_table_time(text, {});
               return !time || time->seconds < year_1990_s || time->seconds > year_2200_s;
           });
}

// "3/4/2026": both ways possible in all.
bool is_either_way(const std::vector<std::string>& times) {
    bool open = false;
    for (const std::string& text : times) {
        const auto time = field::parse_table_time(text, {});
        if (time && time->shows != field::DateOrder::unknown)
            return false;
        open |= time && time->ambiguous;
    }
    return open;
}

// "1,234": thousands, or a decimal comma.
bool may_be_thousands(std::string_view text) {
    const auto comma = text.find(',');
    return comma != std::string_view::npos && text.size() - comma == 4 &&
           text.find_first_of(".,", comma + 1) == std::string_view::npos;
}

bool is_plain_comma(std::string_view text) {
    return std::count(text.begin(), text.end(), ',') == 1 &&
           text.find('.') == std::string_view::npos;
}

} // namespace

Comma comma_in(const TableLook& look) {
    Comma found = Comma::none;
    if (look.separator == ',' || look.separator == ';') // the reader takes it for decimal there
        return found;
    for (const auto& row : look.rows)
        for (const std::string& text : row) {
            if (!is_plain_comma(text) || !are_numbers({text}))
                continue;
            if (!may_be_thousands(text))
                return Comma::decimal;
            found = Comma::open;
        }
    return found;
}

std::string unit_of(std::string_view column) {
    return fmt::format("unit-{}", column);
}

Choices Choices::of_form(const Fields& form) {
    Choices choices;
    for (const auto& [name, value] : form.all())
        if (name != "table")
            choices.said_[name] = std::string(trim(value));
    return choices;
}

std::string Choices::of(std::string_view name) const {
    const auto found = said_.find(name);
    return found == said_.end() ? std::string{} : found->second;
}

Choices Choices::with(std::string_view name, std::string value) const {
    Choices other = *this;
    other.said_.insert_or_assign(std::string(name), std::move(value));
    return other;
}

std::optional<char> Choices::separator() const {
    const std::string said = of(choice::separator);
    return said.size() == 1 ? std::optional(said.front()) : std::nullopt;
}

bool Choices::has_plane_places() const {
    const bool geographic = !of("lat").empty() && !of("lon").empty();
    return !geographic && !of("east_m").empty() && !of("north_m").empty();
}

bool Choices::must_be_said(std::string_view name, const TableLook& look) const {
    if (name == unit_of("time"))
        return is_counted_from_elsewhere(look.values(of("time")));
    if (name == unit_of("offset_mm"))
        return !of("offset_mm").empty();
    if (name == unit_of("east_m") || name == unit_of("north_m") || name == choice::system)
        return has_plane_places();
    if (name == choice::utm_zone)
        return has_plane_places() && of(choice::system) == "utm";
    if (name == choice::date_order)
        return is_either_way(look.values(of("time")));
    return name == choice::decimal_comma && comma_in(look) == Comma::open;
}

std::vector<std::string> Choices::lacking(const TableLook& look) const {
    std::vector<std::string> names;
    for (const std::string& name :
         {unit_of("time"), unit_of("offset_mm"), unit_of("east_m"), unit_of("north_m"),
          std::string(choice::system), std::string(choice::utm_zone),
          std::string(choice::date_order), std::string(choice::decimal_comma)})
        if (of(name).empty() && must_be_said(name, look))
            names.push_back(name);
    return names;
}

namespace {

std::string separator_line(const Choices& choices, const TableLook& look) {
    const bool comma = choices.of(choice::decimal_comma) == "yes";
    const std::string separator = choices.of(choice::separator).empty() && comma
                                      ? std::string(1, look.separator)
                                      : choices.of(choice::separator);
    std::string text;
    if (!separator.empty())
        text += fmt::format("separator = {}\n", cli::toml_text(separator));
    return comma ? text + "decimal_comma = true\n" : text;
}

std::string time_lines(const Choices& choices) {
    std::string text;
    if (const std::string zone = choices.of(choice::time_zone); !zone.empty())
        text += fmt::format("time_zone = {}\n", cli::toml_text(zone));
    if (const std::string minutes = choices.of(choice::utc_offset); !minutes.empty())
        text += fmt::format("utc_offset_minutes = {}\n",
                            parse_int(minutes) ? minutes : cli::toml_text(minutes));
    if (const std::string order = choices.of(choice::date_order); !order.empty())
        text += fmt::format("date_order = {}\n", cli::toml_text(order));
    return text;
}

std::string unit_lines(const Choices& choices) {
    std::string text;
    for (const std::string_view ours : field::column_names)
        if (const std::string unit = choices.of(unit_of(ours));
            !unit.empty() && !choices.of(ours).empty())
            text += fmt::format("{} = {}\n", ours, cli::toml_text(unit));
    return text.empty() ? text : "[units]\n" + text;
}

} // namespace

std::string Choices::text(const TableLook& look) const {
    std::string text = "# What the columns of a machine's tables mean; written by the station.\n" +
                       separator_line(*this, look) + time_lines(*this);
    if (has_plane_places() && of(choice::system) == "utm")
        text += fmt::format("utm_zone = {}\n", cli::toml_text(of(choice::utm_zone)));
    text += "[columns]\n";
    for (const std::string_view ours : field::column_names) {
        const std::string theirs = of(ours);
        if (!theirs.empty() && theirs != ours)
            text += fmt::format("{} = {}\n", ours, cli::toml_text(theirs));
        if (theirs.empty() && look.column(ours))
            text += fmt::format("{} = {}\n", ours, cli::toml_text(choice::not_there));
    }
    return text + unit_lines(*this);
}

Result<Reading> read_as(const TableLook& look, const Choices& choices, std::size_t most) {
    auto mapping = field::parse_mapping(choices.text(look), "what is said below");
    if (!mapping)
        return mapping.error();
    mapping = cli::with_zone(*std::move(mapping), std::nullopt);
    if (!mapping)
        return mapping.error();
    return read_as(look, *mapping, most);
}

} // namespace dropledger::station
