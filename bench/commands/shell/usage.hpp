// Wrong options in words; what text may go into a log line, and which levels there are.
#pragma once

#include "analysis/base/result.hpp"

#include <string>

namespace dropledger::cli {

// `where` without "option ": "--mode".
[[nodiscard]] Error usage(const std::string& where, std::string what, std::string remedy = "");

// Neither empty nor too long for one line of the log.
[[nodiscard]] Status check_text(const std::string& where, const std::string& value);

// Of --confidence, and of --confidence with --content.
[[nodiscard]] Status check_confidence(double level);
[[nodiscard]] Status check_tolerance(double confidence, double content);

} // namespace dropledger::cli
