// One estimate as every JSON result writes it: value, low, high, confidence, method; null where
// undefined.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <nlohmann/json_fwd.hpp>

#include <optional>

namespace dropledger::report {

[[nodiscard]] nlohmann::ordered_json
estimate_json(const std::optional<statistics::Estimate>& estimate);

} // namespace dropledger::report
