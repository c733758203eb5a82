#include "analysis/base/readers/toml_table.hpp"

#include "analysis/base/readers/nesting.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <sstream>

namespace dropledger {

struct TomlTable::Document {
    toml::table root;
    std::string where;
    std::optional<Error> problem;

    void fail(const toml::node& at, std::string what, std::string remedy) {
        if (!problem)
            problem =
                input_error(fmt::format("{}:{}", where,
                                        std::max<toml::source_index>(at.source().begin.line, 1)),
                            std::move(what), std::move(remedy));
    }
};

namespace {

const toml::table& library(const void* table) {
    return *static_cast<const toml::table*>(table);
}

std::string shown(const toml::node& node) {
    std::ostringstream text;
    node.visit([&](const auto& value) { text << value; });
    return text.str();
}

} // namespace

void TomlTable::only(std::initializer_list<std::string_view> keys) {
    for (const auto& [key, value] : library(table_))
        if (std::find(keys.begin(), keys.end(), key.str()) == keys.end())
            document_->fail(value, fmt::format("unknown key '{}'", key.str()),
                            "correct its spelling or remove it");
}

bool TomlTable::has(std::string_view key) const {
    return library(table_).contains(key);
}

std::vector<std::string> TomlTable::keys() const {
    std::vector<std::string> out;
    for (const auto& [key, value] : library(table_))
        out.emplace_back(key.str());
    return out;
}

std::optional<std::string> TomlTable::text(std::string_view key) {
    const toml::node* const node = library(table_).get(key);
    if (node == nullptr)
        return std::nullopt;
    if (const auto* const value = node->as_string())
        return value->get();
    document_->fail(*node, fmt::format("{} is not a text", key), "put it in quotes");
    return std::nullopt;
}

std::optional<double> TomlTable::number(std::string_view key, double least, double greatest) {
    const toml::node* const node = library(table_).get(key);
    if (node == nullptr)
        return std::nullopt;
    const auto value = node->value<double>();
    if (value && std::isfinite(*value) && *value >= least && *value <= greatest)
        return value;
    document_->fail(*node, fmt::format("{} = {} cannot be", key, shown(*node)),
                    fmt::format("give a number from {} to {}", least, greatest));
    return std::nullopt;
}

std::optional<std::int64_t> TomlTable::whole_number(std::string_view key, double least,
                                                    double greatest) {
    const auto value = number(key, least, greatest);
    if (!value || *value == std::floor(*value))
        return value ? std::optional{std::llround(*value)} : std::nullopt;
    fail(key, fmt::format("{} = {} is not a whole number", key, *value), "give a whole number");
    return std::nullopt;
}

std::optional<TomlTable> TomlTable::table(std::string_view key) {
    const toml::node* const node = library(table_).get(key);
    if (node == nullptr)
        return std::nullopt;
    if (const auto* const inner = node->as_table())
        return TomlTable(inner, document_);
    document_->fail(*node, fmt::format("{} is not a table", key), fmt::format("write [{}]", key));
    return std::nullopt;
}

std::vector<TomlTable> TomlTable::tables(std::string_view key) {
    const toml::node* const node = library(table_).get(key);
    std::vector<TomlTable> out;
    if (node == nullptr)
        return out;
    const toml::array* const list = node->as_array();
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i)
        if (const toml::table* const one = list->get(i)->as_table())
            out.push_back(TomlTable(one, document_));
    if (list == nullptr || out.size() != list->size())
        document_->fail(*node, fmt::format("{} is not a list of tables", key),
                        fmt::format("write [[{}]]", key));
    return out;
}

bool TomlTable::has_table(std::string_view key) const {
    const toml::node* const node = library(table_).get(key);
    return node != nullptr && node->is_table();
}

bool TomlTable::has_tables(std::string_view key) const {
    const toml::node* const node = library(table_).get(key);
    return node != nullptr && node->is_array_of_tables();
}

std::optional<std::string> TomlTable::as_text(std::string_view key) const {
    const toml::node* const node = library(table_).get(key);
    return node == nullptr ? std::nullopt : node->value_exact<std::string>();
}

std::optional<double> TomlTable::as_number(std::string_view key) const {
    const toml::node* const node = library(table_).get(key);
    return node == nullptr || !node->is_number() ? std::nullopt : node->value<double>();
}

std::optional<std::int64_t> TomlTable::as_whole(std::string_view key) const {
    const toml::node* const node = library(table_).get(key);
    return node == nullptr ? std::nullopt : node->value_exact<std::int64_t>();
}

std::optional<bool> TomlTable::as_flag(std::string_view key) const {
    const toml::node* const node = library(table_).get(key);
    return node == nullptr ? std::nullopt : node->value_exact<bool>();
}

bool TomlTable::failed() const {
    return document_->problem.has_value();
}

void TomlTable::missing(std::string_view key, std::string_view why) {
    document_->fail(library(table_), fmt::format("key '{}' is missing", key), std::string{why});
}

void TomlTable::fail(std::string_view key, std::string what, std::string remedy) {
    const toml::node* const node = library(table_).get(key);
    document_->fail(node == nullptr ? static_cast<const toml::node&>(library(table_)) : *node,
                    std::move(what), std::move(remedy));
}

namespace {

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

std::string_view line_of(std::string_view text, std::size_t number) {
    for (; number > 1; --number)
        text.remove_prefix(std::min(text.find('\n'), text.size() - 1) + 1);
    return text.substr(0, text.find('\n'));
}

// Outside quotes a comma between digits is a decimal comma, but for a list's.
bool has_decimal_comma(std::string_view line) {
    const std::size_t comma = line.find(',');
    return comma != std::string_view::npos && comma > 0 && comma + 1 < line.size() &&
           is_digit(line[comma - 1]) && is_digit(line[comma + 1]) &&
           line.find_first_of("[\"'") == std::string_view::npos;
}

Error parse_trouble(const toml::parse_error& problem, std::string_view text,
                    const std::string& file) {
    const auto number = std::max<toml::source_index>(problem.source().begin.line, 1);
    const std::string where = fmt::format("{}:{}", file, number);
    if (!text.empty() && has_decimal_comma(line_of(text, number)))
        return input_error(where, "a number has a decimal comma", "write a decimal point: 0.5");
    return input_error(where, std::string{problem.description()}, "correct the TOML there");
}

} // namespace

Result<TomlDocument> TomlDocument::parse(std::string_view text, std::string where) {
    if (const Status bounds = toml_is_shallow(text, where); !bounds)
        return bounds.error();
    auto document = std::make_shared<TomlTable::Document>();
    document->where = std::move(where);
    try {
        document->root = toml::parse(text, document->where);
    } catch (const toml::parse_error& problem) {
        return parse_trouble(problem, text, document->where);
    }
    return TomlDocument(std::move(document));
}

TomlTable TomlDocument::root() {
    return {&document_->root, document_.get()};
}

const std::optional<Error>& TomlDocument::problem() const {
    return document_->problem;
}

} // namespace dropledger
