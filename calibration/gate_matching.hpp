// Two gates of one channel as two observers: which pulses of the first and of the second were the same seed.
//
// A seed needs the same time from one gate to the other, so the differences of matched pulses crowd together. A gate
// above the valve sees a seed before it waits there: its pulse then counts from the next valve opening on.
// Units: µs. Assumes: one pulse is one seed and no pulse is dust; either makes the efficiencies come out too low.
// Undefined when: no crowd of differences is found: the log is refused.
#pragma once

#include "analysis/base/byte_source.hpp"
#include "analysis/statistics/capture_recapture.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

// What one boot of the controller reported of one channel, in time order.
struct GateTimes {
    std::vector<std::int64_t> drops_us;
    std::vector<std::int64_t> first_us;  // gate 0
    std::vector<std::int64_t> second_us; // gate 1
};

struct ChannelPulses {
    int channel = 0;
    std::string unit;
    bool first_waits = false;               // gate 0 sits above a valve that opens and shuts
    std::optional<std::int64_t> expected_us; // from gate 0 (or the valve's opening) to gate 1, as the settings say
    std::vector<GateTimes> boots;
};

struct Matching {
    statistics::TwoObservers seen;
    std::int64_t flight_us = 0;  // median difference of the matched pulses
    double flight_u_us = 0.0;    // standard uncertainty of that median
    double scatter_us = 0.0;     // standard deviation of the differences, from their median absolute deviation
    std::int64_t window_us = 0;  // matched where the difference is this near the median
    double by_chance = 0.0;      // pairs expected among the pulses of different seeds
};

// The channel of a log that both gates watch; `channel` where there are several.
[[nodiscard]] Result<ChannelPulses> pulses_of(const OpenBytes& open, const std::string& file,
                                              std::optional<int> channel);

[[nodiscard]] Result<Matching> match(const ChannelPulses& pulses);

} // namespace dropledger::calibration
