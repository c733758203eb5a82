// The subcommands of `dropledger batch`, a file each.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

// A batch from its opening to its certificate.
void add_batch_open(Command& batch);
void add_batch_choose(Command& batch);
void add_batch_add(Command& batch);    // and void
void add_batch_decide(Command& batch); // and show
void add_batch_key(Command& batch);
void add_batch_certificate(Command& batch);
void add_batch_print(Command& batch);
void add_batch_revoke(Command& batch);
void add_batch_pack(Command& batch);
void add_batch_verify(Command& batch);

// What tables and earlier batches say.
void add_batch_units(Command& batch);
void add_batch_variables(Command& batch);
void add_batch_trend(Command& batch);

} // namespace dropledger::cli
