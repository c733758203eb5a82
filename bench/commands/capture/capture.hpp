// `dropledger capture`: a logic analyser's capture into a log.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_capture(Command command);

} // namespace dropledger::cli
