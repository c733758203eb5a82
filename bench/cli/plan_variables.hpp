// `dropledger plan variables`: tolerance factors, and the smallest plan for measured values.
#pragma once

#include "bench/cli/command.hpp"

namespace dropledger::cli {

void add_plan_variables(Command& plan);

} // namespace dropledger::cli
