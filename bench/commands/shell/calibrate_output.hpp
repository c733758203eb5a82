// What every `calibrate` way puts out alike: estimates as JSON and as words.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <nlohmann/json_fwd.hpp>

#include <optional>
#include <string>

namespace dropledger::cli::calibrate {

// {"schema": "dropledger/calibrate/1"}
[[nodiscard]] nlohmann::ordered_json begin_json();

// "98.90 % (98.10 to 99.42 %)"
[[nodiscard]] std::string in_percent(const statistics::Estimate& estimate);
// "1.234 (1.1 to 1.3)", with so many decimals.
[[nodiscard]] std::string in_words(const statistics::Estimate& estimate, int decimals);

[[nodiscard]] bool is_confidence(double level);

} // namespace dropledger::cli::calibrate
