// How the batch file and the certificate write what both have: estimates and runs.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/batch/runs/tested_run.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <nlohmann/json.hpp>

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

namespace dropledger::batch {

// More than a bench can drop in months: beyond it somebody wants to exhaust the reader.
inline constexpr std::int64_t most_drops = 10'000'000;

// One of the words of a table; any other is refused by name.
template <class Row, std::size_t size, class Json>
[[nodiscard]] decltype(Row::value) word_in(const std::array<Row, size>& words, const Json& json,
                                           const char* key) {
    const auto text = json.at(key).template get<std::string>();
    if (const auto value = value_named(words, text))
        return *value;
    throw std::out_of_range("unknown " + std::string{key} + " '" + text + "'");
}

template <class Json>
[[nodiscard]] Json estimate_json(const std::optional<statistics::Estimate>& estimate) {
    if (!estimate)
        return nullptr;
    Json json{{"value", estimate->value}, {"low", nullptr}, {"high", nullptr}};
    if (estimate->interval) {
        json["low"] = estimate->interval->low;
        json["high"] = estimate->interval->high;
    }
    json["confidence"] = estimate->confidence.level();
    json["method"] = estimate->method;
    return json;
}

template <class Json> [[nodiscard]] std::optional<double> optional_number(const Json& json) {
    return json.is_null() ? std::nullopt : std::optional{json.template get<double>()};
}

template <class Json>
[[nodiscard]] std::optional<statistics::Estimate> estimate_of(const Json& json) {
    if (json.is_null())
        return std::nullopt;
    statistics::Estimate estimate;
    estimate.value = json.at("value").template get<double>();
    const auto low = optional_number(json.at("low"));
    const auto high = optional_number(json.at("high"));
    if (low && high)
        estimate.interval = statistics::Interval{*low, *high};
    estimate.confidence = Confidence{json.at("confidence").template get<double>()};
    json.at("method").get_to(estimate.method);
    return estimate;
}

// "miss_index at most 0.05"
[[nodiscard]] std::string text_of(const verdict::Limit& limit);
[[nodiscard]] verdict::Limit limit_in(const std::string& text); // throws where it is none
[[nodiscard]] nlohmann::json json_of(const LimitResult& result);
[[nodiscard]] LimitResult limit_result_of(const nlohmann::json& json);
[[nodiscard]] nlohmann::json json_of(const RunConditions& conditions);
[[nodiscard]] RunConditions conditions_of(const nlohmann::json& json);
[[nodiscard]] nlohmann::json json_of(const TestedRun& run);
[[nodiscard]] TestedRun run_of(const nlohmann::json& json); // throws where it cannot be
[[nodiscard]] nlohmann::json json_of(const UsedCalibration& calibration);
[[nodiscard]] UsedCalibration calibration_of(const nlohmann::json& json);

template <class Item> [[nodiscard]] nlohmann::json list_of(const std::vector<Item>& items) {
    auto list = nlohmann::json::array();
    for (const Item& item : items)
        list.push_back(json_of(item));
    return list;
}

} // namespace dropledger::batch
