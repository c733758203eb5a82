#include "bench/virtual/toml_fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::bench_virtual {

namespace {

std::string shown(const toml::node& node) {
    if (node.is_table() || node.is_array())
        return node.is_table() ? "a table" : "an array";
    if (const auto text = node.value_exact<std::string>())
        return '"' + *text + '"';
    if (const auto number = node.value<double>())
        return fmt::format("{}", *number);
    return "a value of another kind";
}

std::string range(const char* kind, Limits limits) {
    return fmt::format("{} from {} to {}", kind, limits.low, limits.high);
}

bool inside(double value, Limits limits) {
    return value >= limits.low && value <= limits.high;
}

} // namespace

TomlFields::TomlFields(const toml::table& table, std::string section, std::string file)
    : table_(&table), section_(std::move(section)), file_(std::move(file)) {
}

void TomlFields::fail(const toml::node& place, std::string what, std::string remedy) {
    if (problem_)
        return;
    const auto line = std::max<toml::source_index>(place.source().begin.line, 1);
    problem_ = Error{.kind = ErrorKind::input,
                     .where = fmt::format("{}:{}", file_, line),
                     .what = std::move(what),
                     .remedy = std::move(remedy)};
}

const toml::node* TomlFields::find(const char* key, Presence presence) {
    asked_.emplace(key);
    const toml::node* node = table_->get(key);
    if (node == nullptr && presence == Presence::required)
        fail(*table_, fmt::format("key {} is missing in {}", key, section_),
             "add it; the scenario files in fixtures/scenarios show every key");
    return node;
}

void TomlFields::complain(const char* key, const std::string& expected) {
    const toml::node* node = table_->get(key);
    const std::string found = node == nullptr ? "missing" : shown(*node);
    fail(node == nullptr ? *table_ : *node, fmt::format("key {} in {} is {}", key, section_, found),
         "expected " + expected);
}

void TomlFields::number(const char* key, double& target, Limits limits, Presence presence) {
    const toml::node* node = find(key, presence);
    if (node == nullptr)
        return;
    const auto value = node->is_number() ? node->value<double>() : std::nullopt;
    if (!value || !inside(*value, limits))
        return complain(key, range("a number", limits));
    target = *value;
}

void TomlFields::integer(const char* key, std::int64_t& target, Limits limits, Presence presence) {
    const toml::node* node = find(key, presence);
    if (node == nullptr)
        return;
    const auto value = node->is_integer() ? node->value<std::int64_t>() : std::nullopt;
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
    const toml::node* node = find(key, presence);
    if (node == nullptr)
        return;
    const auto value = node->value_exact<std::string>();
    if (!value || value->empty() || value->size() > 120)
        return complain(key, "a text of 1 to 120 bytes in quotes");
    target = *value;
}

const toml::table* TomlFields::table(const char* key, Presence presence) {
    const toml::node* node = find(key, presence);
    if (node != nullptr && !node->is_table())
        complain(key, fmt::format("a table, [{}]", key));
    return node == nullptr ? nullptr : node->as_table();
}

std::vector<const toml::table*> TomlFields::tables(const char* key) {
    const toml::node* node = find(key, Presence::optional);
    if (node == nullptr)
        return {};
    if (!node->is_array_of_tables()) {
        complain(key, fmt::format("tables, [[{}]]", key));
        return {};
    }
    std::vector<const toml::table*> found;
    for (const auto& element : *node->as_array())
        found.push_back(element.as_table());
    return found;
}

std::optional<Error> TomlFields::problem() const {
    if (problem_)
        return problem_;
    for (const auto& [key, node] : *table_) {
        if (asked_.count(key.str()) != 0)
            continue;
        return Error{.kind = ErrorKind::input,
                     .where = fmt::format("{}:{}", file_, node.source().begin.line),
                     .what = fmt::format("key {} in {} is unknown", key.str(), section_),
                     .remedy = fmt::format("expected one of: {}", fmt::join(asked_, ", "))};
    }
    return std::nullopt;
}

} // namespace dropledger::bench_virtual
