// How a run ended, in words and as JSON; both from the same values.
#pragma once

#include "analysis/verdict/stopping_tests.hpp"
#include "bench/commands/run/job/run_job.hpp"
#include "bench/recorder/recorder.hpp"

#include <string>
#include <vector>

namespace dropledger::cli {

struct RunOutcome {
    recorder::RunSummary summary;
    std::vector<verdict::StopDecision> decisions;
    bool is_new = true;                     // else gone on with
    std::optional<std::string> calibration; // as a new run's log names it
    std::string port;
};

// What the log names; nothing where no calibration is in force.
[[nodiscard]] std::optional<std::string> calibration_in(const recorder::RunPlan& plan);

[[nodiscard]] Result<int> deliver_run(const RunOutcome& outcome, bool json);

} // namespace dropledger::cli
