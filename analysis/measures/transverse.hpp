// Transverse evenness: how alike the channels' totals are over one run.
//
// Undefined when: fewer than two channels, or no seed at all.
// Source: ISO 7256-2:1984 (variation between outlets over one run); CV with divisor n - 1.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace dropledger::measures {

struct ChannelTotal {
    int channel = 0;
    std::int64_t seeds = 0;
};

struct ChannelDeviation {
    int channel = 0;
    std::int64_t seeds = 0;
    double deviation = 0.0; // seeds / mean - 1
};

struct Transverse {
    double mean_seeds = 0.0; // per channel
    double cv = 0.0;
    std::vector<ChannelDeviation> channels;
};

[[nodiscard]] std::optional<Transverse> transverse(std::span<const ChannelTotal> totals);

} // namespace dropledger::measures
