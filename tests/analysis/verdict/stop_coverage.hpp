// How often the intervals of a run that stopped itself hold the truth, by simulation.
//
// Assumes: independent drops; misses and multiples exclude each other on one drop.
#pragma once

#include "analysis/statistics/two_point.hpp"

#include <cstdint>

namespace dropledger::verdict::coverage {

struct Situation {
    statistics::TwoPoint points{0.02, 0.05, 0.05, 0.05};
    std::int64_t most = 2000;
    std::int64_t least = 250;
    double miss = 0.02;
    double multiples = 0.02;
    int channels = 1;
};

struct Covered {
    double reported = 0.0;   // as the audit reports
    double after_stop = 0.0; // always ordered by the own decision
    double plain = 0.0;      // always Clopper-Pearson of all drops
    double own_end = 0.0;    // share of runs that this test's own decision ended
    double mean_drops = 0.0;
};

// Of the miss share of the first channel, nominal 95 %.
[[nodiscard]] Covered stop_coverage(const Situation& situation, int runs, std::uint64_t seed);

} // namespace dropledger::verdict::coverage
