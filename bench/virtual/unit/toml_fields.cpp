#include "bench/virtual/unit/toml_fields.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::bench_virtual {

namespace {

std::string range(const char* kind, Limits limits) {
    return fmt::format("{} from {} to {}", kind, limits.low, limits.high);
}

bool inside(double value, Limits limits) {
    return value >= limits.low && value <= limits.high;
}

} // namespace

TomlFields::TomlFields(TomlTable table, std::string section)
    : table_(table), section_(std::move(section)) {
}

std::string TomlFields::shown(const char* key) const {
    if (!table_.has(key))
        return "missing";
    if (table_.has_table(key))
        return "a table";
    if (const auto text = table_.as_text(key))
        return '"' + *text + '"';
    if (const auto number = table_.as_number(key))
        return fmt::format("{}", *number);
    return "a value of another kind";
}

bool TomlFields::find(const char* key, Presence presence) {
    asked_.emplace(key);
    const bool found = table_.has(key);
    if (!found && presence == Presence::required)
        table_.fail(key, fmt::format("key {} is missing in {}", key, section_),
                    "add it; the scenarios that come with the program show every key (installed: "
                    "/usr/share/dropledger/scenarios)");
    return found;
}

void TomlFields::complain(const char* key, const std::string& expected) {
    table_.fail(key, fmt::format("key {} in {} is {}", key, section_, shown(key)),
                "expected " + expected);
}

void TomlFields::number(const char* key, double& target, Limits limits, Presence presence) {
    if (!find(key, presence))
        return;
    const auto value = table_.as_number(key);
    if (!value || !inside(*value, limits))
        return complain(key, range("a number", limits));
    target = *value;
}

void TomlFields::integer(const char* key, std::int64_t& target, Limits limits, Presence presence) {
    if (!find(key, presence))
        return;
    const auto value = table_.as_whole(key);
    if (!value || !inside(static_cast<double>(*value), limits))
        return complain(key, range("a whole number", limits));
    target = *value;
}

void TomlFields::thousandths(const char* key, std::int64_t& target, Limits limits,
                             Presence presence) {
    double value = static_cast<double>(target) / 1000.0;
    number(key, value, limits, presence);
    target = std::llround(value * 1000.0);
}

void TomlFields::text(const char* key, std::string& target, Presence presence) {
    if (!find(key, presence))
        return;
    const auto value = table_.as_text(key);
    if (!value || value->empty() || value->size() > 120)
        return complain(key, "a text of 1 to 120 bytes in quotes");
    target = *value;
}

std::optional<TomlTable> TomlFields::table(const char* key, Presence presence) {
    if (!find(key, presence))
        return std::nullopt;
    if (table_.has_table(key))
        return table_.table(key);
    complain(key, fmt::format("a table, [{}]", key));
    return std::nullopt;
}

std::vector<TomlTable> TomlFields::tables(const char* key) {
    if (!find(key, Presence::optional))
        return {};
    if (table_.has_tables(key))
        return table_.tables(key);
    complain(key, fmt::format("tables, [[{}]]", key));
    return {};
}

void TomlFields::finish() {
    for (const std::string& key : table_.keys())
        if (asked_.count(key) == 0)
            table_.fail(key, fmt::format("key {} in {} is unknown", key, section_),
                        fmt::format("expected one of: {}", fmt::join(asked_, ", ")));
}

} // namespace dropledger::bench_virtual
