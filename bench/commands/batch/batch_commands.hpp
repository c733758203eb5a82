// The subcommands between a batch's opening and its certificate, a file each; and the key.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_batch_add(Command& batch);    // and void
void add_batch_decide(Command& batch); // and show
void add_batch_key(Command& batch);

} // namespace dropledger::cli
