// The subcommands about a decided batch's certificate: issue, print, pack, verify, take back.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_batch_certificate(Command& batch);
void add_batch_print(Command& batch);
void add_batch_revoke(Command& batch);
void add_batch_pack(Command& batch);
void add_batch_verify(Command& batch);

} // namespace dropledger::cli
