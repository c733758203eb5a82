// The subcommand `run`: a bench run, recorded.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_run(Program& program);

} // namespace dropledger::cli
