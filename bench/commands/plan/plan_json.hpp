// The `plan` reports as JSON, keys as in the machine-readable results of the manual.
#pragma once

#include "analysis/sampling/plan_reports.hpp"

#include <nlohmann/json_fwd.hpp>

namespace dropledger::cli::plan {

using namespace dropledger::planning;

[[nodiscard]] nlohmann::ordered_json json(const SequentialReport& report);
[[nodiscard]] nlohmann::ordered_json json(const FixedReport& report);
[[nodiscard]] nlohmann::ordered_json json(const IntervalReport& report);
[[nodiscard]] nlohmann::ordered_json json(const AcceptanceReport& report);
[[nodiscard]] nlohmann::ordered_json json(const DoubleReport& report);

} // namespace dropledger::cli::plan
