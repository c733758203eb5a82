// The `plan` reports as JSON, keys as in the machine-readable results of the manual.
#pragma once

#include "analysis/sampling/plan_reports.hpp"

#include <string>

namespace dropledger::cli::plan {

using namespace dropledger::planning;

[[nodiscard]] std::string json(const SequentialReport& report);
[[nodiscard]] std::string json(const FixedReport& report);
[[nodiscard]] std::string json(const IntervalReport& report);
[[nodiscard]] std::string json(const AcceptanceReport& report);
[[nodiscard]] std::string json(const DoubleReport& report);

} // namespace dropledger::cli::plan
