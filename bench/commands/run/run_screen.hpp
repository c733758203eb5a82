// What a person sees of a run: the cautions, the question, the live tally. All on standard error.
//
// Assumes: one run per screen.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/recorder/clock.hpp"
#include "bench/recorder/tally.hpp"

#include <cstdint>
#include <string>

namespace dropledger::cli {

void print_cautions();

// `yes` typed at a terminal; without a terminal it is refused, and --yes must be given.
[[nodiscard]] Status confirm_start();

class RunScreen {
public:
    // `wanted` drops per channel (line mode: seeds).
    RunScreen(recorder::Clock& clock, std::int64_t wanted, std::string mode);

    void show(
        const recorder::LiveTally& tally); // at most a few times a second; off a terminal every 5 s
    void say(const std::string& text);     // above the tally
    void finish(const recorder::LiveTally& tally);

private:
    void paint(const recorder::LiveTally& tally);
    void wipe();
    [[nodiscard]] std::string progress(const recorder::LiveTally& tally) const;

    recorder::Clock& clock_;
    std::uint64_t wanted_;
    std::string mode_;
    bool terminal_;
    int painted_lines_ = 0;
    Microseconds shown_at_{0};
};

} // namespace dropledger::cli
