// `dropledger check`: a log's integrity only.
#pragma once

#include "bench/cli/command.hpp"

namespace dropledger::cli {

void add_check(Program& program);

} // namespace dropledger::cli
