// Wrong options in words, and what text may go into a log line.
#pragma once

#include "analysis/base/result.hpp"

#include <string>

namespace dropledger::cli {

// `where` without "option ": "--mode".
[[nodiscard]] Error usage(const std::string& where, std::string what, std::string remedy = "");

// Neither empty nor too long for one line of the log.
[[nodiscard]] Status check_text(const std::string& where, const std::string& value);

} // namespace dropledger::cli
