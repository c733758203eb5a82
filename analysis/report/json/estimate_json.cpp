#include "analysis/report/json/estimate_json.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::report {

nlohmann::ordered_json estimate_json(const std::optional<statistics::Estimate>& estimate) {
    if (!estimate)
        return nullptr;
    nlohmann::ordered_json json{{"value", estimate->value}, {"low", nullptr}, {"high", nullptr}};
    if (estimate->interval) {
        json["low"] = estimate->interval->low;
        json["high"] = estimate->interval->high;
    }
    json["confidence"] = estimate->confidence.level();
    json["method"] = estimate->method;
    json["no_interval"] = nullptr;
    if (!estimate->interval && estimate->no_interval)
        json["no_interval"] = key_of(*estimate->no_interval);
    return json;
}

} // namespace dropledger::report
