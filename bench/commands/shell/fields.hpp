// What the rooms below call a field, as the option that sets it.
//
// Below bench/commands no message names an option: an error of ErrorKind::usage may have a field as
// its place ("spacing_mm"), and its words name fields between backticks (`rule_zero_mm`). Here they
// become options where the command that runs has them; other words stay as they are.
#pragma once

#include "analysis/base/result.hpp"

#include <set>
#include <string>

namespace dropledger::cli {

// `options` as typed: "--spacing-mm".
[[nodiscard]] Error in_options(Error error, const std::set<std::string>& options);

} // namespace dropledger::cli
