// `run --list-ports`: which serial ports there are, and which looks like a bench.
#pragma once

#include "bench/commands/run/settings/run_options.hpp"

namespace dropledger::cli {

// With --probe each port (or the one after --port) is asked with `hello`; otherwise only its USB
// description is looked at.
[[nodiscard]] Result<int> list_serial_ports(const RunOptions& options);

} // namespace dropledger::cli
