// Tries a machine's settings on the bench: each unit by itself makes a few drops.
//
// Assumes: each unit is a start of its own, and confirmed by itself. The logs are kept in a folder
// beside the settings file.
#pragma once

#include "bench/commands/run/run_options.hpp"
#include "calibration/machine/few_drops.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

struct BenchTry {
    std::string port;
    std::string folder; // for the logs
    std::int64_t drops = 20;
};

// Of the units that were started; fewer than there are where one was not confirmed.
[[nodiscard]] Result<std::vector<calibration::FewDrops>>
try_on_bench(const RunOptions& options, const recorder::RunPlan& plan, const BenchTry& what);

} // namespace dropledger::cli
