// `dropledger batch`: from the random choice of units to a signed certificate, and what their tests
// say of all.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_batch(Command command);

} // namespace dropledger::cli
