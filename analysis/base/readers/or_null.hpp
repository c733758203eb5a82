// A value that may be missing, as JSON: null where it is.
#pragma once

#include <nlohmann/json.hpp>

#include <optional>
#include <string>

namespace dropledger {

template <class T> [[nodiscard]] nlohmann::ordered_json or_null(const std::optional<T>& value) {
    return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
}

// Of a text that is empty where nothing was said.
[[nodiscard]] inline nlohmann::ordered_json or_null(const std::string& text) {
    return text.empty() ? nlohmann::ordered_json(nullptr) : nlohmann::ordered_json(text);
}

} // namespace dropledger
