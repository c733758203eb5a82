// What a person sees of a run: the cautions, the question, the live tally. All on standard error.
//
// Assumes: one run per screen. What is shown during a run is written by a thread of its own
// (writer_thread.hpp): a terminal that is held, or a pipe nobody reads, keeps nobody waiting.
#pragma once

#include "bench/commands/run/screen/live_run.hpp"
#include "bench/commands/run/screen/writer_thread.hpp"
#include "bench/recorder/protocol/lines/tally.hpp"
#include "bench/recorder/protocol/plan/clock.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

// Before motors start: what harms; and what goes before this list.
[[nodiscard]] std::vector<std::string> start_cautions();
constexpr const char* above_cautions =
    "The seed label, local codes and licensed practice rule; this list does not replace them.";
void print_cautions();

// Whether somebody can be asked.
[[nodiscard]] bool is_asked();

// What was typed at a question; nothing without a terminal.
[[nodiscard]] std::optional<std::string> answer_at_terminal(const std::string& question);

constexpr const char* start_question = "Start the motors? Type yes: ";

class RunScreen {
public:
    RunScreen(recorder::Clock& clock, const ScreenPlan& plan);

    void show(
        const recorder::LiveTally& tally); // at most a few times a second; off a terminal every 5 s
    void settled(const recorder::Settled& drop) { run_.settled(drop); }
    void say(const std::string& text); // above the tally
    void finish(const recorder::LiveTally& tally);
    [[nodiscard]] std::string unit_name(int channel) const { return run_.unit_name(channel); }

private:
    recorder::Clock& clock_;
    LiveRun run_;
    bool terminal_;
    Microseconds shown_at_{0};
    WriterThread writer_;
};

} // namespace dropledger::cli
