// `dropledger plan variables`: tolerance factors, and the smallest plan for measured values.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void add_plan_variables(Command& plan);

} // namespace dropledger::cli
