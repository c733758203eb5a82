// The subcommands of `dropledger batch` that carry a batch from its opening to its certificate.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_batch_open(Command& batch);
void add_batch_add(Command& batch);    // and void
void add_batch_decide(Command& batch); // and show
void add_batch_key(Command& batch);
void add_batch_certificate(Command& batch);
void add_batch_verify(Command& batch);

} // namespace dropledger::cli
