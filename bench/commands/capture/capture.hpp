// `dropledger capture`: a logic analyser's capture into a log.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_capture(Program& program);

} // namespace dropledger::cli
