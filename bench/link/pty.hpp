// A pseudo-terminal as transport: what a virtual bench speaks on.
//
// Assumes: `path` is the terminal itself, links already followed.
#pragma once

#include "bench/link/transport.hpp"

namespace dropledger::link {

[[nodiscard]] Result<std::unique_ptr<Transport>> open_pty(const std::string& path);

} // namespace dropledger::link
