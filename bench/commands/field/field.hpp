// `dropledger field`: after the missing-seed alerts.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_field(Program& program);

} // namespace dropledger::cli
