// `dropledger audit`: from a log to a verdict.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_audit(Command command);

} // namespace dropledger::cli
