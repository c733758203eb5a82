#include "analysis/base/toml_table.hpp"

#include "analysis/base/nesting.hpp"

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
            problem = Error{ErrorKind::input, fmt::format("{}:{}", where, at.source().begin.line),
                            std::move(what), std::move(remedy)};
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

void TomlTable::missing(std::string_view key, std::string_view why) {
    document_->fail(library(table_), fmt::format("key '{}' is missing", key), std::string{why});
}

void TomlTable::fail(std::string_view key, std::string what, std::string remedy) {
    const toml::node* const node = library(table_).get(key);
    document_->fail(node == nullptr ? static_cast<const toml::node&>(library(table_)) : *node,
                    std::move(what), std::move(remedy));
}

Result<TomlDocument> TomlDocument::parse(std::string_view text, std::string where) {
    auto document = std::make_shared<TomlTable::Document>();
    document->where = std::move(where);
    if (const Status shallow = toml_is_shallow(text, document->where); !shallow)
        return shallow.error();
    try {
        document->root = toml::parse(text, document->where);
    } catch (const toml::parse_error& problem) {
        return Error{ErrorKind::input,
                     fmt::format("{}:{}", document->where, problem.source().begin.line),
                     std::string{problem.description()}, "correct the TOML there"};
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
