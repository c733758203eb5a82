// How the batch file and the certificate write what both have: estimates and lists.
#pragma once

#include "analysis/statistics/estimate.hpp"

#include <nlohmann/json.hpp>

#include <optional>
#include <string>
#include <vector>

namespace dropledger::batch {

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

} // namespace dropledger::batch
