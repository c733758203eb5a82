// Runs that stop themselves by a limit of 5 %: how often the intervals that the audit then states
// hold the truth. Misses come in rows of a geometric length; placement is exact. The same seed gives
// the same runs.
#pragma once

#include <cstdint>

namespace dropledger::testing {

struct StoppedRuns {
    double share = 0.02;     // of misses
    double row_length = 1.0; // mean; 1: independent
    int runs = 200;
    std::uint64_t seed = 1;
};

// Shares of the runs.
struct HeldAfterStop {
    double miss_index = 0.0;
    double quality_of_feed_index = 0.0;
    double gaps_per_spacing = 0.0;
    double miss_share = 0.0;
    double agreed = 0.0; // of the decided ones: index and share both lie where the run said
};

[[nodiscard]] HeldAfterStop held_after_stop(const StoppedRuns& how);

} // namespace dropledger::testing
