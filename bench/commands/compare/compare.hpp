// The subcommand `compare`: two runs of the same units side by side, before a repair and after it.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_compare(Command command);

} // namespace dropledger::cli
