// What a run is to do, worked out and checked before any motor starts: a new run, or one gone on
// with.
#pragma once

#include "analysis/verdict/stopping_rule.hpp"
#include "bench/book/book.hpp"
#include "bench/commands/run/settings/run_options.hpp"
#include "bench/recorder/protocol/plan/clock.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct Job {
    recorder::RunPlan plan;
    std::string log;
    bool goes_on = false;
    bool may_start = true;    // motors; else what is on is listened to, or what has ended is closed
    bool was_started = false; // before: what is left of its drops may be made by another start
    std::string left;         // of its drops, in words
    bool left_open = false;   // after the run: to be gone on with
    std::optional<verdict::StoppingRule> rule;      // by which the run may stop itself
    std::vector<recorder::ChannelSetting> channels; // units and rows
    std::optional<verdict::Profile> profile;        // for the screen: the audit has its own choice
    std::vector<std::string> says;                  // of its calibration, before the motors start
};

[[nodiscard]] std::string fresh_run_id(); // a random UUID

// `book`: null where there is none.
[[nodiscard]] Result<Job> job_of(const RunOptions& options, const book::Book* book,
                                 recorder::Clock& clock);

} // namespace dropledger::cli
