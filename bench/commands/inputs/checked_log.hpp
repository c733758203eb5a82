// A log read through once: what its head says, and what is wrong with it.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/droplog/reader.hpp"

#include <string>

namespace dropledger::cli {

// "-" is standard input.
[[nodiscard]] Result<droplog::Reading> read_checked(const std::string& file);

} // namespace dropledger::cli
