// `dropledger field`: after the missing-seed alerts.
#pragma once

#include "bench/cli/command.hpp"

namespace dropledger::cli {

void add_field(Program& program);

} // namespace dropledger::cli
