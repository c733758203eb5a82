// Tries a machine's settings on the bench: each unit by itself makes a few drops.
//
// Assumes: each unit is a start of its own, and confirmed by itself. The logs are kept in a folder
// beside the settings file.
#pragma once

#include "bench/commands/run/settings/run_options.hpp"
#include "bench/recorder/recorder.hpp"
#include "calibration/machine/few_drops.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct BenchTry {
    std::string port;
    std::string folder; // for the logs
    std::int64_t drops = 20;
};

// With whom the tries are talked over.
struct TryTalk {
    // "row 1, SU-0001, channel 0: 20 drops"; nothing: not now, and none of the others.
    std::function<Result<std::optional<recorder::StartConfirmed>>(const std::string&)> ask;
    recorder::Hooks hooks;
};
// At the terminal, after the cautions.
[[nodiscard]] TryTalk talk_at_terminal(const RunOptions& options, recorder::Clock& clock);

// Of the units that were started; fewer than there are where one was not confirmed.
[[nodiscard]] Result<std::vector<calibration::FewDrops>>
try_on_bench(const RunOptions& options, const recorder::RunPlan& plan, const BenchTry& what,
             const TryTalk& talk, recorder::Clock& clock);

} // namespace dropledger::cli
