// `dropledger batch variables`: measured values of units against limits.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_batch_variables(Command& batch);

} // namespace dropledger::cli
