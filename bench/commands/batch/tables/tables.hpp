// What tables of many units, and earlier batches, say: subcommands, a file each.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_batch_units(Command& batch);
void add_batch_variables(Command& batch);
void add_batch_trend(Command& batch);

} // namespace dropledger::cli
