// Two gates of one channel as two observers: which pulses of the first and of the second were the
// same seed.
//
// A seed needs the same time from one gate to the other, so the differences of matched pulses crowd
// together. A gate above the valve sees a seed before it waits there: its pulse then counts from
// the next valve opening on.
// Units: µs.
// Assumes: without a pulse classifier, that one pulse is one seed and no pulse is dust; either
// makes the efficiencies come out too low.
// Undefined when: no crowd of differences is found: the log is refused.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/ledger/setup.hpp"
#include "analysis/statistics/shares/capture_recapture.hpp"

#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

// Of one channel's gates, by their number; the whole is asked once a channel.
using Classifiers = std::map<int, ledger::SeedsInPulse>;
using ClassifiersFor = std::function<Result<Classifiers>(const droplog::Header&, int channel)>;

// What one boot of the controller reported of one channel, in time order.
struct GateTimes {
    std::vector<std::int64_t> drops_us;
    std::vector<std::int64_t> first_us;  // gate 0
    std::vector<std::int64_t> second_us; // gate 1
};

// What a gate's pulses were, by the classifier.
struct PulseKinds {
    bool classified = false;
    std::int64_t pulses = 0;
    std::int64_t dust = 0;
    std::int64_t several = 0; // pulses of two seeds and more
    std::optional<std::int64_t> dead_us;
};

struct ChannelPulses {
    int channel = 0;
    std::string unit;
    bool first_waits = false; // gate 0 sits above a valve that opens and shuts
    // From gate 0 (or the valve's opening) to gate 1, as the settings say
    std::optional<std::int64_t> expected_us;
    std::vector<GateTimes> boots;
    std::array<PulseKinds, 2> gates;

    // Of the seeds, those that fall while the gate is blind after a pulse, for random arrivals at
    // the mean rate: a bound for a metered flow. Nothing where the log states no dead time.
    [[nodiscard]] std::optional<double> lost_to_dead_time(std::size_t gate) const;
};

struct Matching {
    statistics::TwoObservers seen;
    std::int64_t flight_us = 0; // median difference of the matched pulses
    double flight_u_us = 0.0;   // standard uncertainty of that median
    double scatter_us =
        0.0; // standard deviation of the differences, from their median absolute deviation
    std::int64_t window_us = 0; // matched where the difference is this near the median
    double by_chance = 0.0;     // pairs expected among the pulses of different seeds
    // Why the counts give no efficiency of gate 0, of gate 1: sentences (steadiness.hpp); empty:
    // nothing speaks against it.
    std::array<std::string, 2> doubts;
};

// The channel of a log that both gates watch; `channel` where there are several.
[[nodiscard]] Result<ChannelPulses> pulses_of(const OpenBytes& open, const std::string& file,
                                              std::optional<int> channel,
                                              const ClassifiersFor& classifiers = {});

[[nodiscard]] Result<Matching> match(const ChannelPulses& pulses);

} // namespace dropledger::calibration
