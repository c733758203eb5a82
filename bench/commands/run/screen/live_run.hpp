// What is known of a run while it goes on: the live model, kept up to date from the recorder's hooks.
// A screen and a page show the same one.
//
// Assumes: called on the recorder's thread. Provisional: the audit gives the verdict.
#pragma once

#include "analysis/verdict/profile.hpp"
#include "analysis/verdict/stopping_tests.hpp"
#include "bench/commands/run/screen/screen_text.hpp"
#include "bench/recorder/protocol/lines/tally.hpp"
#include "bench/recorder/protocol/plan/clock.hpp"
#include "bench/recorder/protocol/plan/plan.hpp"

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::cli {

// What is shown of a run besides its tally.
struct ScreenPlan {
    recorder::ArmOrder order;
    std::vector<recorder::ChannelSetting> channel_settings; // units and rows
    std::optional<verdict::Profile> profile;                // for limits and the verdict so far
};

class LiveRun {
public:
    LiveRun(recorder::Clock& clock, const ScreenPlan& plan);

    void settled(const recorder::Settled& drop);
    void take(const recorder::LiveTally& tally);
    void end() { model_.seconds_left.reset(); }
    [[nodiscard]] const ScreenModel& model() const { return model_; }
    // Warnings, one for each spell without seed that has begun since the last call.
    [[nodiscard]] std::vector<std::string> newly_dry();
    [[nodiscard]] std::string unit_name(int channel) const; // "row 4, U-0204"

private:
    void take_unit(const recorder::LiveTally& tally, const recorder::ChannelTally& counts,
                   ScreenUnit& unit);
    [[nodiscard]] std::optional<double> seconds_left(Microseconds now);
    [[nodiscard]] SoFar so_far(int channel) const;

    recorder::Clock& clock_;
    ScreenModel model_;
    std::optional<verdict::StoppingTests> tests_; // as the audit would judge so far
    std::int64_t least_drops_ = 0;
    std::set<int> dry_;                                           // channels that were warned of
    std::map<int, std::deque<DropSeen>> last_;                    // the newest at the end
    std::optional<std::pair<Microseconds, std::uint64_t>> began_; // with drops
};

} // namespace dropledger::cli
