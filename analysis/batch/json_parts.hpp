// How the batch file and the certificate write what both have: estimates and runs.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/batch/tested_run.hpp"
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

template <class Json> [[nodiscard]] Json json_of(const TestedRun& run) {
    return {{"unit", run.unit},
            {"channel", run.channel},
            {"run", run.run},
            {"file", run.file},
            {"sha256", run.sha256},
            {"last_seal", run.last_seal},
            {"signed_by", run.signed_by},
            {"started", run.started},
            {"calibrations", run.calibrations},
            {"outcome", verdict::name_of(run.outcome)},
            {"drops", run.drops},
            {"misses", run.misses},
            {"corrected_miss", estimate_json<Json>(run.corrected_miss)},
            {"counted", run.counted},
            {"reason", run.reason}};
}

template <class Json> [[nodiscard]] TestedRun run_of(const Json& json) {
    TestedRun run;
    json.at("unit").get_to(run.unit);
    json.at("channel").get_to(run.channel);
    json.at("run").get_to(run.run);
    json.at("file").get_to(run.file);
    json.at("sha256").get_to(run.sha256);
    json.at("last_seal").get_to(run.last_seal);
    json.at("signed_by").get_to(run.signed_by);
    json.at("started").get_to(run.started);
    json.at("calibrations").get_to(run.calibrations);
    run.outcome = word_in(verdict::outcome_names, json, "outcome");
    json.at("drops").get_to(run.drops);
    json.at("misses").get_to(run.misses);
    run.corrected_miss = estimate_of(json.at("corrected_miss"));
    json.at("counted").get_to(run.counted);
    json.at("reason").get_to(run.reason);
    if (run.misses < 0 || run.misses > run.drops || run.drops > most_drops)
        throw std::out_of_range("run " + run.run + " states counts that cannot be");
    return run;
}

template <class Json> [[nodiscard]] Json json_of(const UsedCalibration& calibration) {
    return {{"id", calibration.id},
            {"file", calibration.file},
            {"sha256", calibration.sha256},
            {"expires", calibration.expires}};
}

template <class Json> [[nodiscard]] UsedCalibration calibration_of(const Json& json) {
    UsedCalibration calibration;
    json.at("id").get_to(calibration.id);
    json.at("file").get_to(calibration.file);
    json.at("sha256").get_to(calibration.sha256);
    json.at("expires").get_to(calibration.expires);
    return calibration;
}

} // namespace dropledger::batch
