// True shares of misses, singles and multiples from what a gate saw, when it overlooks some seeds.
//
// A drop without pulse had no seed, or its seeds were overlooked: with detection efficiency η and r = (1 − η)/η,
//   miss = m − s·r + d·r²    single = (s − 2·d·r)/η    multiple = d/η²
// (m, s, d: shares of drops with no, one, two or more pulses; the inverse of binomial thinning, a multiple taken as two).
// Interval: each side's own distance, from the counts (Clopper-Pearson, inflated where drops are not independent) and from
// the efficiency's interval, in quadrature (JCGM 100, two-sided); checked against JCGM 101 Monte Carlo.
// Assumes: each seed is overlooked independently. Undefined when: no drops, or an efficiency of 0 or without interval.
#pragma once

#include "analysis/statistics/estimate.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::measures {

struct ObservedShares {
    std::int64_t drops = 0;
    std::int64_t miss = 0;
    std::int64_t multiple = 0;
    double miss_inflation = 1.0;
    double multiple_inflation = 1.0;
};

struct CorrectedShares {
    statistics::Estimate miss;
    statistics::Estimate single;
    statistics::Estimate multiple;
};

[[nodiscard]] std::optional<CorrectedShares> corrected_shares(const ObservedShares& observed,
                                                              const statistics::Estimate& efficiency,
                                                              Confidence confidence);

} // namespace dropledger::measures
