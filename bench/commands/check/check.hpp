// `dropledger check`: a log's integrity only.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_check(Command command);

} // namespace dropledger::cli
