// The `plan` reports as one self-contained page with pictures: nothing is loaded from anywhere.
#pragma once

#include "analysis/sampling/plan_reports.hpp"

#include <string>

namespace dropledger::cli::plan {

using namespace dropledger::planning;

[[nodiscard]] std::string page(const SequentialReport& report);
[[nodiscard]] std::string page(const FixedReport& report);
[[nodiscard]] std::string page(const IntervalReport& report);
[[nodiscard]] std::string page(const AcceptanceReport& report);
[[nodiscard]] std::string page(const DoubleReport& report);

} // namespace dropledger::cli::plan
