// Serials and names that a person can tell apart, on a screen and on paper.
//
// A serial is 1 to 100 characters of printable ASCII, with no blank at its ends. Two of one batch
// must differ by more than what reads alike: upper and lower case, 0 and O, 1 and I and l.
// Our own choice: letters of other scripts are refused because some of them look like Latin ones.
#pragma once

#include "analysis/base/result.hpp"

#include <span>
#include <string>
#include <vector>

namespace dropledger::batch {

// Fails at the first that is empty, can't be read, is there twice or reads like another.
[[nodiscard]] Status check_names(const std::string& batch, std::span<const std::string> serials);

// "SU-0001 to SU-0280" for serials that follow each other by one, a lone one as it is; in order.
[[nodiscard]] std::vector<std::string> ranges_of(std::span<const std::string> serials);

} // namespace dropledger::batch
