// How far the slowest channel of a live run is.
#pragma once

#include "bench/recorder/protocol/lines/tally.hpp"

#include <algorithm>
#include <cstdint>

namespace dropledger::recorder {

// Of the channels heard so far.
inline std::uint64_t fewest_drops(const LiveTally& tally) {
    const auto channels = tally.channels();
    const auto fewest =
        std::min_element(channels.begin(), channels.end(), [](const auto& a, const auto& b) {
            return a.second.drops < b.second.drops;
        });
    return fewest == channels.end() ? 0 : fewest->second.drops;
}

} // namespace dropledger::recorder
