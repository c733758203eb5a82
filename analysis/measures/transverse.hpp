// Evenness across the channels of a machine that sows lines: the variation of their totals, and by
// how much each one is off their mean.
//
// Assumes: all channels ran the same way, so totals compare as seeds per metre.
// Units: seeds per metre in, shares of the mean out.
// Undefined when: fewer than two channels with a rate, or no seed at all.
// Source: ISO 7256-2 (transverse distribution). The CV describes these channels and no others, so
// it has no interval; a deviation has that of the channels' rates, half-widths added in quadrature.
#pragma once

#include "analysis/statistics/estimate.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::measures {

struct ChannelRate {
    int channel = 0;
    std::int64_t seeds = 0;
    std::optional<statistics::Estimate> per_m;
};

struct ChannelDeviation {
    int channel = 0;
    std::int64_t seeds = 0;
    statistics::Estimate deviation; // rate / mean − 1
};

struct TransverseResult {
    double mean_per_m = 0.0;
    statistics::Estimate cv;
    std::vector<ChannelDeviation> channels;
};

[[nodiscard]] std::optional<TransverseResult> transverse(const std::vector<ChannelRate>& rates,
                                                         Confidence confidence);

} // namespace dropledger::measures
