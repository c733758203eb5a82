// The settings file for `dropledger run --settings` that fits a virtual bench's scenario.
#pragma once

#include "bench/virtual/unit/scenario.hpp"

#include <string>

namespace dropledger::cli {

[[nodiscard]] std::string settings_file(const bench_virtual::Scenario& scenario);

} // namespace dropledger::cli
