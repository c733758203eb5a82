// `dropledger field`: after the missing-seed alerts.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_field(Command command);

} // namespace dropledger::cli
