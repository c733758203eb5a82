// The subcommand `setup`: a machine's settings file, asked for and tried on the bench.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_setup(Command command);

} // namespace dropledger::cli
