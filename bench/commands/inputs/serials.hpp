// Serial numbers as people write them: a range, or a list of ranges and single ones.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

// "SU-0001..SU-0280": the same text before the number, the number counting up, leading zeros kept.
// `option` is for messages.
[[nodiscard]] Result<std::vector<std::string>> serials_of_range(const std::string& option,
                                                                const std::string& range);

// Ranges and single serials, with commas between.
[[nodiscard]] Result<std::vector<std::string>> serials_of_list(const std::string& option,
                                                               const std::string& list);

} // namespace dropledger::cli
