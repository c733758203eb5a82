#include "analysis/batch/runs/json_parts.hpp"

#include "analysis/base/text.hpp"
#include "analysis/measures/quantity.hpp"

#include <fmt/format.h>

#include <optional>
#include <stdexcept>
#include <string_view>

namespace dropledger::batch {

using Json = nlohmann::json;

void Members<TestedRun>::check(const TestedRun& run) {
    if (run.misses < 0 || run.misses > run.drops || run.drops > most_drops)
        throw std::out_of_range("run " + run.run + " states counts that cannot be");
}

std::string text_of(const verdict::Limit& limit) {
    return fmt::format("{} {} {}", key_of(limit.quantity),
                       row_in(measures::senses, limit.sense()).words, limit.value);
}

Json written(const verdict::Limit& limit) {
    return text_of(limit);
}

void read_into(verdict::Limit& limit, const Json& json) {
    const auto text = json.get<std::string>();
    const auto quantity = measures::quantity_of(text.substr(0, text.find(' ')));
    const auto value = parse_double(std::string_view(text).substr(text.rfind(' ') + 1));
    if (quantity && value && measures::row_of(*quantity).good) {
        limit = {*quantity, *value};
        if (text_of(limit) == text)
            return;
    }
    throw std::out_of_range("no limit is '" + text + "'");
}

Json written(const statistics::Estimate& estimate) {
    const auto& interval = estimate.interval;
    return {{"value", estimate.value},
            {"low", interval ? Json(interval->low) : Json(nullptr)},
            {"high", interval ? Json(interval->high) : Json(nullptr)},
            {"confidence", estimate.confidence.level()},
            {"method", estimate.method}};
}

void read_into(statistics::Estimate& estimate, const Json& json) {
    json.at("value").get_to(estimate.value);
    const auto low = read_as<std::optional<double>>(json.at("low"));
    const auto high = read_as<std::optional<double>>(json.at("high"));
    if (low && high)
        estimate.interval = statistics::Interval{*low, *high};
    estimate.confidence = Confidence{json.at("confidence").get<double>()};
    json.at("method").get_to(estimate.method);
}

Json json_of(const TestedRun& run) {
    return written(run);
}

Json json_of(const UsedCalibration& calibration) {
    return written(calibration);
}

} // namespace dropledger::batch
