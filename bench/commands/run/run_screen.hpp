// What a person sees of a run: the cautions, the question, the live tally. All on standard error.
//
// Assumes: one run per screen. What is shown during a run is written by a thread of its own
// (writer_thread.hpp): a terminal that is held, or a pipe nobody reads, keeps nobody waiting.
#pragma once

#include "analysis/verdict/profile.hpp"
#include "analysis/verdict/stopping_tests.hpp"
#include "bench/commands/run/screen_text.hpp"
#include "bench/commands/run/writer_thread.hpp"
#include "bench/recorder/protocol/clock.hpp"
#include "bench/recorder/protocol/plan.hpp"
#include "bench/recorder/protocol/tally.hpp"

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::cli {

void print_cautions();

// Whether somebody can be asked.
[[nodiscard]] bool is_asked();

// What was typed at a question; nothing without a terminal.
[[nodiscard]] std::optional<std::string> answer_at_terminal(const std::string& question);

constexpr const char* start_question = "Start the motors? Type yes: ";

// What a screen shows of a run besides its tally.
struct ScreenPlan {
    recorder::ArmOrder order;
    std::vector<recorder::ChannelSetting> channel_settings; // units and rows
    std::optional<verdict::Profile> profile;                // for limits and the verdict so far
};

class RunScreen {
public:
    RunScreen(recorder::Clock& clock, const ScreenPlan& plan);

    void show(
        const recorder::LiveTally& tally); // at most a few times a second; off a terminal every 5 s
    void settled(const recorder::Settled& drop);
    void say(const std::string& text); // above the tally
    void finish(const recorder::LiveTally& tally);
    [[nodiscard]] std::string unit_name(int channel) const; // "row 4, U-0204"

private:
    void take(const recorder::LiveTally& tally);
    void take_unit(const recorder::LiveTally& tally, const recorder::ChannelTally& counts,
                   ScreenUnit& unit);
    void warn_of_dry();
    [[nodiscard]] std::optional<double> seconds_left(Microseconds now);
    [[nodiscard]] SoFar so_far(int channel) const;

    recorder::Clock& clock_;
    ScreenModel model_;
    bool terminal_;
    std::optional<verdict::StoppingTests> tests_; // as the audit would judge so far
    std::int64_t least_drops_ = 0;
    std::set<int> dry_; // channels that were warned of
    Microseconds shown_at_{0};
    std::optional<std::pair<Microseconds, std::uint64_t>> began_; // with drops
    WriterThread writer_;
};

} // namespace dropledger::cli
