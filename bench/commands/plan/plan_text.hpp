// The `plan` reports for the terminal.
#pragma once

#include "analysis/sampling/plan_reports.hpp"

#include <string>

namespace dropledger::cli::plan {

using namespace dropledger::planning;

[[nodiscard]] std::string text(const SequentialReport& report);
[[nodiscard]] std::string text(const FixedReport& report);
[[nodiscard]] std::string text(const IntervalReport& report);
[[nodiscard]] std::string text(const AcceptanceReport& report);
[[nodiscard]] std::string text(const DoubleReport& report);

// The rows of the decision table at which a number changes.
[[nodiscard]] std::vector<Numbers> changes(const std::vector<Numbers>& table);

} // namespace dropledger::cli::plan
