// `dropledger batch`: what tests of several units say of the batch.
#pragma once

#include "bench/cli/command.hpp"

namespace dropledger::cli {

void add_batch(Program& program);

} // namespace dropledger::cli
