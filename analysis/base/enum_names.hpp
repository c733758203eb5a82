// Closed sets and their names: one table an enum, from which both directions are read.
//
// A table is a constexpr std::array of rows with at least `value` and `key`. `names_all(table)`
// belongs in a static_assert beside it: an enumerator without a row, a row twice, out of order or
// with a key that another has, fails to compile.
#pragma once

#include "analysis/base/result.hpp"

#include <array>
#include <cstddef>
#include <optional>
#include <string_view>
#include <type_traits>

namespace dropledger {

template <class Enum> struct EnumName {
    Enum value;
    std::string_view key;
};
template <class Enum> EnumName(Enum, std::string_view) -> EnumName<Enum>; // clang 14 needs it said

// GCC and clang print a value of an enum that has no enumerator as a cast: "(Enum)7".
template <auto value> [[nodiscard]] consteval bool is_enumerator() {
    constexpr std::string_view text = __PRETTY_FUNCTION__;
    constexpr std::size_t name = text.rfind("value = ") + 8;
    return text.substr(name, 1) != "(";
}

template <const auto& rows> [[nodiscard]] consteval bool names_all() {
    using Enum = std::remove_cvref_t<decltype(rows[0].value)>;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (static_cast<std::size_t>(rows[i].value) != i || rows[i].key.empty())
            return false;
        for (std::size_t j = 0; j < i; ++j)
            if (rows[j].key == rows[i].key)
                return false;
    }
    return is_enumerator<static_cast<Enum>(rows.size() - 1)>() &&
           !is_enumerator<static_cast<Enum>(rows.size())>();
}

// Throws where `value` was never an enumerator.
template <class Row, std::size_t size>
[[nodiscard]] constexpr const Row& row_in(const std::array<Row, size>& rows,
                                          decltype(Row::value) value) {
    const auto at = static_cast<std::size_t>(value);
    if (at >= size)
        throw BrokenInvariant("a value without a name");
    return rows[at];
}

template <class Row, std::size_t size>
[[nodiscard]] constexpr auto value_named(const std::array<Row, size>& rows, std::string_view key)
    -> std::optional<decltype(Row::value)> {
    for (const Row& row : rows)
        if (row.key == key)
            return row.value;
    return std::nullopt;
}

} // namespace dropledger
