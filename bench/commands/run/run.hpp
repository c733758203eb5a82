// The subcommand `run`: a bench run, recorded.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_run(Command command);

} // namespace dropledger::cli
