// `dropledger batch trend`: control charts over batches.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_batch_trend(Command& batch);

} // namespace dropledger::cli
