// What a person sees of a run: the cautions, the question, the live tally. All on standard error.
//
// Assumes: one run per screen. What is shown during a run is written by a thread of its own
// (writer_thread.hpp): a terminal that is held, or a pipe nobody reads, keeps nobody waiting.
#pragma once

#include "bench/commands/run/writer_thread.hpp"
#include "bench/recorder/protocol/clock.hpp"
#include "bench/recorder/protocol/tally.hpp"

#include "analysis/droplog/settings.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

void print_cautions();

// What was typed at the question whether the motors may start; nothing without a terminal.
[[nodiscard]] std::optional<std::string> answer_at_terminal();

class RunScreen {
public:
    // `wanted` drops per channel (line mode: seeds).
    RunScreen(recorder::Clock& clock, std::int64_t wanted, droplog::Mode mode);

    void show(
        const recorder::LiveTally& tally); // at most a few times a second; off a terminal every 5 s
    void say(const std::string& text);     // above the tally
    void finish(const recorder::LiveTally& tally);

private:
    [[nodiscard]] std::vector<std::string> lines_of(const recorder::LiveTally& tally) const;
    [[nodiscard]] std::string progress(const recorder::LiveTally& tally) const;

    recorder::Clock& clock_;
    std::uint64_t wanted_;
    droplog::Mode mode_;
    bool terminal_;
    Microseconds shown_at_{0};
    WriterThread writer_;
};

} // namespace dropledger::cli
