// Which channels of one machine are unlike the others.
//
// Assumes: all channels ran under the same conditions in one run.
// How: misses and multiples of each channel against all others together (Fisher's exact test at the
// number of independent drops that would tell as much), mean placement errors and seeds a segment
// against the others' mean, by the law of the mean that allows for neighbours that hang together
// (statistics' dependent_intervals.hpp); all p-values of the run adjusted by Holm, so that a
// machine of equal units raises any flag at all in at most `family_error` of runs. A channel is
// named only where its difference is one that the profile calls worth naming. The channel that
// stands out most is taken out before the others are compared again, or one bad unit would make its
// good siblings look unlike the rest. Of the last two, nobody can tell which is the odd one: both
// are named. How often it is wrong: tests/analysis/report/siblings_test.cpp and the README.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

namespace dropledger::audit {

constexpr double family_error = 0.05;

[[nodiscard]] Siblings compare_siblings(const std::vector<ChannelReport>& channels,
                                        const verdict::SiblingDifference& least);

} // namespace dropledger::audit
