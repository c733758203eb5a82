// `dropledger check`: a log's integrity only.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_check(Program& program);

} // namespace dropledger::cli
