// An estimate with its interval in words, for a terminal.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <string>

namespace dropledger::cli {

// "98.90 % (98.10 to 99.42 %)"
[[nodiscard]] std::string in_percent(const statistics::Estimate& estimate);
// "1.234 (1.1 to 1.3)", with so many decimals.
[[nodiscard]] std::string in_words(const statistics::Estimate& estimate, int decimals);

} // namespace dropledger::cli
