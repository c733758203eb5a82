// `dropledger simulate`: a virtual bench on a pseudo-terminal, or a whole log straight into a file.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_simulate(Command command);

} // namespace dropledger::cli
