// Completion of the command line for bash, from what the program's --help says.
#pragma once

#include "bench/commands/shell/page.hpp"

#include <string>

namespace dropledger::package {

// Completes commands and options; the value of an option and what a command works on as file names.
[[nodiscard]] std::string bash_completion(const cli::CommandPage& program);

} // namespace dropledger::package
