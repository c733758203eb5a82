// Every command of the program, in the order of its --help.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_all(Program& program);

} // namespace dropledger::cli
