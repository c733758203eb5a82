// What is wrong, or looks wrong, with a run before anybody is asked to start it.
//
// Assumes: each value is in its range already (run_plan, run_channels). The limits are those of
// machines we know of, from memory; they keep slips out, not fast units.
#pragma once

#include "bench/commands/run/settings/run_options.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

// Sentences for the operator where it may be right after all; an error where it cannot.
[[nodiscard]] Result<std::vector<std::string>> check_plan(const RunOptions& options,
                                                          const recorder::RunPlan& plan);

} // namespace dropledger::cli
