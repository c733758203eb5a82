// Values as JSON objects: one list of members a type, by which it is written and read.
//
// A type is listed by `Members<Type>::list`, a tuple of Member (a value as it is), Word (an enum by
// its table of names) and Within (a part whose members stand among the others). A value is a bool,
// number, text, limit or estimate, of a listed type, or a vector or optional of these; an optional
// that is empty is null.
// Undefined when: a member is missing, of another kind or none of its words, or `Members<Type>::check`
// refuses the whole: an exception.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/verdict/profile.hpp"

#include <nlohmann/json.hpp>

#include <array>
#include <cstddef>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

namespace dropledger::batch {

template <class Owner, class Value> struct Member {
    const char* key;
    Value Owner::*at;
};
template <class Owner, class Value>
Member(const char*, Value Owner::*) -> Member<Owner, Value>; // clang 14 needs it said

template <class Owner, class Value, class Names> struct Word {
    const char* key;
    Value Owner::*at; // an optional one that is empty is an empty text
    const Names& names;
};
template <class Owner, class Value, class Names>
Word(const char*, Value Owner::*, const Names&) -> Word<Owner, Value, Names>;

template <class Owner, class Part> struct Within { Part Owner::*at; };
template <class Owner, class Part> Within(Part Owner::*) -> Within<Owner, Part>;

template <class Type> struct Members;
template <class Type>
concept Listed = requires {
    Members<Type>::list;
};

// One of the words of a table; any other is refused by name.
template <class Row, std::size_t size>
[[nodiscard]] decltype(Row::value) word_in(const std::array<Row, size>& words,
                                           const nlohmann::json& json, const char* key) {
    const auto text = json.at(key).get<std::string>();
    if (const auto value = value_named(words, text))
        return *value;
    throw std::out_of_range("unknown " + std::string{key} + " '" + text + "'");
}

// "miss_index at most 0.05"
[[nodiscard]] nlohmann::json written(const verdict::Limit& limit);
void read_into(verdict::Limit& limit, const nlohmann::json& json);
[[nodiscard]] nlohmann::json written(const statistics::Estimate& estimate);
void read_into(statistics::Estimate& estimate, const nlohmann::json& json);

template <class Value> [[nodiscard]] nlohmann::json written(const Value& value);
template <class Value> [[nodiscard]] nlohmann::json written(const std::optional<Value>& value);
template <class Value> [[nodiscard]] nlohmann::json written(const std::vector<Value>& values);
template <class Value> void read_into(Value& value, const nlohmann::json& json);
template <class Value> void read_into(std::optional<Value>& value, const nlohmann::json& json);
template <class Value> void read_into(std::vector<Value>& values, const nlohmann::json& json);

template <class Value> [[nodiscard]] Value read_as(const nlohmann::json& json) {
    Value value{};
    read_into(value, json);
    return value;
}

// ---- one member of an object ----

template <class Owner, class Value>
void put(nlohmann::json& json, const Owner& owner, const Member<Owner, Value>& member) {
    json[member.key] = written(owner.*member.at);
}
template <class Owner, class Value, class Names>
void put(nlohmann::json& json, const Owner& owner, const Word<Owner, Value, Names>& word) {
    json[word.key] = std::string(row_in(word.names, owner.*word.at).key);
}
template <class Owner, class Value, class Names>
void put(nlohmann::json& json, const Owner& owner,
         const Word<Owner, std::optional<Value>, Names>& word) {
    const auto& value = owner.*word.at;
    json[word.key] = std::string(value ? row_in(word.names, *value).key : std::string_view{});
}
template <class Owner, class Part>
void put(nlohmann::json& json, const Owner& owner, const Within<Owner, Part>& part) {
    json.update(written(owner.*part.at));
}

template <class Owner, class Value>
void take(Owner& owner, const nlohmann::json& json, const Member<Owner, Value>& member) {
    read_into(owner.*member.at, json.at(member.key));
}
template <class Owner, class Value, class Names>
void take(Owner& owner, const nlohmann::json& json, const Word<Owner, Value, Names>& word) {
    owner.*word.at = word_in(word.names, json, word.key);
}
template <class Owner, class Value, class Names>
void take(Owner& owner, const nlohmann::json& json,
          const Word<Owner, std::optional<Value>, Names>& word) {
    if (json.at(word.key) != "")
        owner.*word.at = word_in(word.names, json, word.key);
}
template <class Owner, class Part>
void take(Owner& owner, const nlohmann::json& json, const Within<Owner, Part>& part) {
    read_into(owner.*part.at, json);
}

// ---- whole values ----

template <class Value> nlohmann::json written(const Value& value) {
    if constexpr (Listed<Value>) {
        auto json = nlohmann::json::object();
        std::apply([&](const auto&... member) { (put(json, value, member), ...); },
                   Members<Value>::list);
        return json;
    } else {
        return nlohmann::json(value);
    }
}

template <class Value> nlohmann::json written(const std::optional<Value>& value) {
    return value ? written(*value) : nlohmann::json(nullptr);
}

template <class Value> nlohmann::json written(const std::vector<Value>& values) {
    auto list = nlohmann::json::array();
    for (const Value& value : values)
        list.push_back(written(value));
    return list;
}

template <class Value> void read_into(Value& value, const nlohmann::json& json) {
    if constexpr (Listed<Value>)
        std::apply([&](const auto&... member) { (take(value, json, member), ...); },
                   Members<Value>::list);
    else
        json.get_to(value);
    if constexpr (requires { Members<Value>::check(value); })
        Members<Value>::check(value);
}

template <class Value> void read_into(std::optional<Value>& value, const nlohmann::json& json) {
    if (!json.is_null())
        read_into(value.emplace(), json);
}

template <class Value> void read_into(std::vector<Value>& values, const nlohmann::json& json) {
    if (!json.is_array())
        throw std::out_of_range(std::string{"a list is needed where there is "} + json.type_name());
    for (const nlohmann::json& one : json)
        read_into(values.emplace_back(), one);
}

} // namespace dropledger::batch
