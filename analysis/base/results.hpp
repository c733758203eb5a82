// Several results at once: the first error among them, or all their values.
#pragma once

#include "analysis/base/result.hpp"

#include <functional>
#include <iterator>
#include <optional>
#include <type_traits>
#include <vector>

namespace dropledger {

// The error of the first that failed; none where all are good.
template <class... T> [[nodiscard]] std::optional<Error> first_error(const Result<T>&... results) {
    const Error* first = nullptr;
    ((first = first == nullptr && !results ? &results.error() : first), ...);
    return first == nullptr ? std::nullopt : std::optional{*first};
}

// What `read` makes of each item, up to the first that fails.
template <class Range, class Read> [[nodiscard]] auto each(const Range& range, Read&& read) {
    using Value = std::decay_t<decltype(std::invoke(read, *std::begin(range)).value())>;
    std::vector<Value> values;
    for (const auto& item : range) {
        auto value = std::invoke(read, item);
        if (!value)
            return Result<std::vector<Value>>{value.error()};
        values.push_back(*std::move(value));
    }
    return Result<std::vector<Value>>{std::move(values)};
}

} // namespace dropledger
