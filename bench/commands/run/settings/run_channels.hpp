// Which channels take part in a run, and what is known of each.
#pragma once

#include "bench/commands/run/settings/run_options.hpp"

#include <cstdint>
#include <vector>

namespace dropledger::cli {

constexpr std::int64_t highest_channel = 15; // that a run can order

struct ChannelPlan {
    std::uint32_t mask = 0;
    std::vector<recorder::ChannelSetting> settings;
};

// An option for one channel goes over one for all, and both over the settings file.
[[nodiscard]] Result<ChannelPlan> channels_of(const RunOptions& options);

} // namespace dropledger::cli
