// The subcommand `setup`: a machine's settings file, asked for and tried on the bench.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_setup(Program& program);

} // namespace dropledger::cli
