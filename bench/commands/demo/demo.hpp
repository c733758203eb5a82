// `dropledger demo`: the whole way from a bench to a verdict, without hardware.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_demo(Command command);

} // namespace dropledger::cli
