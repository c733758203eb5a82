// How many seeds are seen by both of two gates, given what each saw and how many fell: Fisher's
// noncentral hypergeometric law, and the numbers of fallen seeds that it does not exclude.
//
// Units: `odds` is the odds ratio of the 2 × 2 table seen/overlooked, 1 where the gates are
// independent.
// Source: [Fisher 1935] for the law, Chapman 1951 for its use at odds 1; limits as
// Clopper-Pearson's.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct TwoObservers {
    std::int64_t both = 0;   // matched pairs
    std::int64_t first = 0;  // all that the first saw
    std::int64_t second = 0; // all that the second saw

    [[nodiscard]] std::int64_t seen() const { return first + second - both; }
};

struct MatchedTails {
    double at_most = 0.0;  // chance of as many pairs or fewer
    double at_least = 0.0; // or more
};

// Takes about as many steps as the law's standard deviation. `fell`: a whole number, at least
// seen.seen().
[[nodiscard]] MatchedTails matched_tails(const TwoObservers& seen, double fell, double odds);

// Every number of fallen seeds at which neither as few pairs nor as many have a chance of at most
// `each_tail`, at any odds from 1 to `greatest_odds`.
// Undefined when: no pair was seen: any number may have fallen.
[[nodiscard]] std::optional<Interval> fallen_limits(const TwoObservers& seen, double each_tail,
                                                    double greatest_odds);

} // namespace dropledger::statistics
