// True shares of misses, singles and multiples from what a gate saw, when it overlooks some seeds.
//
// A drop without pulse had no seed, or its seeds were overlooked: with detection efficiency η and
// r = (1 − η)/η,
//   miss = m − s·r + d·r²    single = (s − 2·d·r)/η    multiple = d/η²
// (m, s, d: shares of drops with no, one, two or more pulses; the inverse of binomial thinning, a
// multiple taken as two). Interval: each side's own distance, from the counts (Clopper-Pearson, no
// narrower than rows of misses make it) and from the efficiency's interval, in quadrature (JCGM
// 100, two-sided); checked against JCGM 101 Monte Carlo.
// Assumes: each seed is overlooked independently.
// Undefined when: no drops, or an efficiency of 0 or without interval.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <initializer_list>
#include <optional>

namespace dropledger::measures {

struct Corrected {
    statistics::Estimate estimate;
    statistics::Interval endless; // what the efficiency's uncertainty alone leaves: a run without
                                  // end would not narrow it
    bool contradicted = false;    // beyond what can be, by far more than chance (99.9 %): the
                                  // efficiency is not this run's
};

// The efficiency's interval at the confidence asked for, inside what an efficiency can be. It must
// have one.
[[nodiscard]] statistics::Interval efficiency_limits(const statistics::Estimate& efficiency,
                                                     Confidence confidence);

// A corrected value and where it would lie at the ends of what was counted, and of the efficiency.
struct Ends {
    double value = 0.0;
    std::initializer_list<double> counted;
    std::initializer_list<double> gate;
};
// Each side's farthest end of either, in quadrature. A value outside `possible` is moved to its
// edge and keeps its distances, so that an interval never shrinks to nothing there.
[[nodiscard]] Corrected in_quadrature(const Ends& ends, statistics::Interval possible,
                                      Confidence confidence);

struct ObservedShares {
    std::int64_t drops = 0;
    std::int64_t miss = 0;
    std::int64_t multiple = 0;
    double miss_inflation = 1.0;
    double multiple_inflation = 1.0;
    std::optional<statistics::Interval> miss_no_narrower =
        {}; // than this: as the rows were seen, and as a stop allows
    std::optional<statistics::Interval> multiple_no_narrower = {};
};

struct CorrectedShares {
    Corrected miss;
    Corrected single;
    Corrected multiple;
};

[[nodiscard]] std::optional<CorrectedShares>
corrected_shares(const ObservedShares& observed, const statistics::Estimate& efficiency,
                 Confidence confidence);

// How many of this run's drops without pulse had no seed indeed: not a share, but a prediction of a
// count, from what was overlooked. Given s drops that showed a seed, those overlooked follow a
// negative binomial law; the efficiency's uncertainty comes in quadrature. Both ends whole numbers
// from 0 to the drops without pulse.
[[nodiscard]] std::optional<statistics::Interval>
empty_drops(const ObservedShares& observed, const statistics::Estimate& efficiency,
            Confidence confidence);

} // namespace dropledger::measures
