// The leads of a settings file as the virtual bench's own: a real bench has them in its firmware.
//
// Undefined when: the file cannot be read, or names a channel that the bench lacks: an error.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <string>

namespace dropledger::cli {

// Channels that the file gives no `lead_us` keep theirs.
[[nodiscard]] Status take_leads(const std::string& path, bench_virtual::Scenario& scenario);

} // namespace dropledger::cli
