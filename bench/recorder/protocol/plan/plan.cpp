#include "bench/recorder/protocol/plan/plan.hpp"

#include "bench/recorder/protocol/lines/controller_text.hpp"

#include "analysis/droplog/line.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>

namespace dropledger::recorder {

std::string arm_line(const ArmOrder& order) {
    return droplog::encode(fmt::format("arm,{},{},{},{},{},{}", droplog::name_of(order.mode),
                                       order.spacing_um, order.count, order.speed_um_s,
                                       order.channel_mask, order.drops));
}

std::map<int, std::int64_t> remainder(const ArmOrder& order, const LiveTally& tally) {
    std::map<int, std::int64_t> left;
    if (order.mode == droplog::Mode::line || order.drops == 0)
        return left;
    const auto done = tally.channels();
    constexpr int mask_bits = 32;
    for (int channel = 0; channel < mask_bits; ++channel) {
        if (((order.channel_mask >> static_cast<unsigned>(channel)) & 1U) == 0)
            continue;
        const auto found = done.find(channel);
        const std::int64_t drops =
            found == done.end() ? 0 : static_cast<std::int64_t>(found->second.drops);
        if (drops < order.drops)
            left[channel] = order.drops - drops;
    }
    return left;
}

std::optional<ArmOrder> rest_of(const ArmOrder& order, const LiveTally& tally) {
    const auto left = remainder(order, tally);
    if (left.empty())
        return std::nullopt;
    ArmOrder rest = order;
    rest.channel_mask = 0;
    for (const auto& [channel, drops] : left) {
        rest.channel_mask |= 1U << static_cast<unsigned>(channel);
        rest.drops = std::min(rest.drops, drops);
    }
    return rest;
}

std::optional<Error> lacking_channels(std::uint32_t channel_mask, std::uint32_t channels) {
    if (channels >= 32 || (channel_mask >> channels) == 0)
        return std::nullopt;
    const int named = std::popcount(channel_mask);
    const int highest = static_cast<int>(std::bit_width(channel_mask)) - 1;
    return controller_trouble(
        fmt::format("has {} channel{} (0 to {}); this run names {}, up to channel {}", channels,
                    channels == 1 ? "" : "s", channels == 0 ? 0 : channels - 1, named, highest),
        "give `channels` for those that are there, or leave units out");
}

std::string setting_of(std::span<const ChannelSetting> all, int channel, std::string_view key) {
    const auto found = std::find_if(all.begin(), all.end(), [&](const ChannelSetting& one) {
        return one.channel == channel && one.key == key;
    });
    return found == all.end() ? std::string{} : found->value;
}

droplog::Header head_of(const RunPlan& plan, const std::string& started) {
    droplog::Header head;
    head.run_id = plan.run_id;
    head.started = started;
    for (const Setting& one : plan.settings)
        head.run[one.key] = one.value;
    for (const ChannelSetting& one : plan.channel_settings)
        head.channels[one.channel][one.key] = one.value;
    return head;
}

} // namespace dropledger::recorder
