// Which channels of one machine are unlike the others.
//
// Assumes: all channels ran under the same conditions in one run.
// How: misses and multiples of each channel against all others together (Fisher's exact test), placement
// offsets likewise (Welch); all p-values of the run adjusted by Holm, so that a machine of equal units raises
// any flag at all in at most `family_error` of runs.
#pragma once

#include "analysis/report/audit.hpp"

namespace dropledger::report {

constexpr double family_error = 0.05;

// Placement moments per channel are taken from the estimates' own sums.
[[nodiscard]] Siblings compare_siblings(const std::vector<ChannelReport>& channels);

} // namespace dropledger::report
