// What a run that stops itself by a limit says of its unit, and how often its interval holds the
// truth, by simulation: independent hits and rows of geometric lengths.
//
// Assumes: misses and multiples are tested apart; here one of them, on one channel.
#pragma once

#include "analysis/statistics/stopping/monitored_share.hpp"

#include <cstdint>

namespace dropledger::verdict::coverage {

struct Situation {
    statistics::LimitPlan plan{
        .limit = 0.05, .monitoring = {.first = 50, .most = 2000}, .least = 250};
    double share = 0.02;
    double row_length = 1.0; // mean
};

struct Covered {
    double good = 0.0; // share of runs called so
    double bad = 0.0;
    double held = 0.0;   // the interval at the end holds the truth
    double agreed = 0.0; // of the decided runs: the interval says the same
    double mean_drops = 0.0;
    double stopped_early = 0.0; // before a quarter of the most drops
};

[[nodiscard]] Covered stop_coverage(const Situation& situation, int runs, std::uint64_t seed);

// The same of Wald's test, whose rule older logs state.
struct WaldCovered {
    double reported = 0.0; // holds the truth, as the audit reports
    double own_end = 0.0;  // share of runs that this test's own decision ended
};
struct WaldSituation {
    statistics::TwoPoint points{0.02, 0.05, 0.05, 0.05};
    std::int64_t most = 2000;
    double share = 0.02;
    double row_length = 1.0;
};
[[nodiscard]] WaldCovered wald_coverage(const WaldSituation& situation, int runs,
                                        std::uint64_t seed);

} // namespace dropledger::verdict::coverage
