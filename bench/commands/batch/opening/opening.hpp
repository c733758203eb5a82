// The subcommands that open a batch and choose its units, a file each.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_batch_open(Command& batch);
void add_batch_choose(Command& batch);

} // namespace dropledger::cli
