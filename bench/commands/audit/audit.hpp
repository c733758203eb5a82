// `dropledger audit`: from a log to a verdict.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_audit(Program& program);

} // namespace dropledger::cli
