#include "bench/commands/shell/numbers.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <span>

namespace dropledger::cli {

namespace {

struct Unit {
    std::string_view typed;
    double factor; // into the option's unit
};

struct UnitsOfOption {
    std::string_view ending; // of the option's name
    std::string_view words;
    std::array<Unit, 6> units; // empty names fill it up
};

// Longer endings first: a name that ends in -per-m does not end in metres.
constexpr std::array<UnitsOfOption, 11> all_units{{
    {"per-mps", "per m/s", {{{"s/m", 1.0}}}},
    {"per-m", "per metre", {{{"/m", 1.0}}}},
    {"per-s", "per second", {{{"/s", 1.0}}}},
    {"mps",
     "m/s",
     {{{"m/s", 1.0}, {"mps", 1.0}, {"km/h", 1 / 3.6}, {"kmh", 1 / 3.6}, {"mm/s", 0.001}}}},
    {"mm", "mm", {{{"mm", 1.0}, {"cm", 10.0}, {"m", 1000.0}, {"um", 0.001}}}},
    {"um", "um", {{{"um", 1.0}, {"mm", 1000.0}, {"cm", 1e4}, {"m", 1e6}}}},
    {"us", "us", {{{"us", 1.0}, {"\u00b5s", 1.0}, {"ms", 1000.0}, {"s", 1e6}}}},
    {"ms", "ms", {{{"ms", 1.0}, {"us", 0.001}, {"s", 1000.0}}}},
    {"s", "s", {{{"s", 1.0}, {"ms", 0.001}, {"min", 60.0}}}},
    {"mg", "mg", {{{"mg", 1.0}, {"g", 1000.0}}}},
    {"g", "g", {{{"g", 1.0}, {"mg", 0.001}, {"kg", 1000.0}}}},
}};

const UnitsOfOption* units_of(std::string_view name) {
    for (const UnitsOfOption& one : all_units)
        if (name.ends_with(one.ending) && name.size() > one.ending.size() &&
            (name[name.size() - one.ending.size() - 1] == '-' ||
             name[name.size() - one.ending.size() - 1] == '_'))
            return &one;
    return nullptr;
}

bool is_of_a_number(char c) {
    return (c >= '0' && c <= '9') || c == '.' || c == ',' || c == '-' || c == '+';
}

// 1,000 may be one or a thousand; 0,125 is no thousands.
bool may_part_thousands(std::string_view digits, std::size_t comma) {
    const std::string_view before = digits.substr(0, comma);
    return digits.size() - comma - 1 == 3 && !before.empty() && before != "0" && before != "-0";
}

Result<double> plain(const std::string& option, std::string_view typed, std::string_view digits) {
    const std::size_t comma = digits.find(',');
    std::string text{digits};
    if (comma != std::string_view::npos) {
        if (may_part_thousands(digits, comma) && digits.find('.') == std::string_view::npos)
            return usage(option, fmt::format("`{}` may be one and a bit or thousands", typed),
                         fmt::format("write {}.{} or {}{}", digits.substr(0, comma),
                                     digits.substr(comma + 1), digits.substr(0, comma),
                                     digits.substr(comma + 1)));
        text[comma] = '.';
    }
    if (const auto number = parse_double(text))
        return *number;
    return usage(option, fmt::format("`{}` is not a number", typed), "like 180 or 0.25");
}

} // namespace

Result<double> typed_number(std::string_view option, std::string_view typed) {
    const std::string where{option};
    const std::string_view whole = trim(typed);
    if (const auto number = parse_double(whole)) // 1e6 too
        return *number;
    const auto end = std::find_if_not(whole.begin(), whole.end(), is_of_a_number);
    const std::string_view digits = whole.substr(0, static_cast<std::size_t>(end - whole.begin()));
    const std::string_view unit = trim(whole.substr(digits.size()));
    const auto number = plain(where, whole, digits);
    if (!number || unit.empty())
        return number;
    const UnitsOfOption* const known = units_of(option);
    if (known == nullptr)
        return usage(where, fmt::format("`{}` is not a number", whole), "it has no unit");
    for (const Unit& one : known->units)
        if (one.typed == unit)
            return *number * one.factor;
    return usage(where, fmt::format("`{}`: unit `{}` is not known here", whole, unit),
                 fmt::format("give it in {}", known->words));
}

} // namespace dropledger::cli
