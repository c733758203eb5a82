// Which channels of one machine are unlike the others.
//
// Assumes: all channels ran under the same conditions in one run.
// How: misses and multiples of each channel against all others together (Fisher's exact test),
// placement offsets likewise (Welch); all p-values of the run adjusted by Holm, so that a machine
// of equal units raises any flag at all in at most `family_error` of runs. The channel that stands
// out most is taken out before the others are compared again, or one bad unit would make its good
// siblings look unlike the rest. Of the last two, nobody can tell which is the odd one: both are
// named. In simulation 44 of 1,000 machines of six healthy units raised a flag
// (tests/analysis/report/siblings_test.cpp).
#pragma once

#include "analysis/audit/model.hpp"

namespace dropledger::audit {

constexpr double family_error = 0.05;

[[nodiscard]] Siblings compare_siblings(const std::vector<ChannelReport>& channels);

} // namespace dropledger::audit
