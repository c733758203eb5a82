// The subcommand `serve`: the station, on pages in a browser.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_serve(Command command);

} // namespace dropledger::cli
