// True counts of portions from what a gate saw, when it overlooks some seeds.
//
// A portion of j seeds shows k of them with the binomial probability of k in j. That is a
// triangular system, undone by
//   share with k seeds = Σ over j ≥ k of (share that showed j)·C(j,k)·η^(−j)·(η − 1)^(j−k)
// and a class (empty, short, exact, over) is a weighted sum of what was seen: its variance is the
// multinomial one. Interval: each side the larger of that (normal) and of the class's own
// Clopper-Pearson limit carried through, both widened where portions are not independent; with the
// efficiency's interval in quadrature; checked against JCGM 101.
// Assumes: each seed is overlooked independently; all portions have one target.
// Undefined when: no drops, targets differ, an efficiency of 0 or without interval, or so many
// seeds for so poor a gate that the sum has no digits left.
#pragma once

#include "analysis/measures/corrections/sensor_correction.hpp"
#include "analysis/measures/entries.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::measures {

struct ObservedPortions {
    std::vector<std::int64_t> distribution; // drops that showed 0, 1, 2, … seeds
    std::size_t target = 1;
    double empty_inflation = 1.0;
    double exact_inflation = 1.0;
    double over_inflation = 1.0;
    std::optional<statistics::Interval> empty_no_narrower =
        {}; // than this: as the rows were seen, and as a stop allows
    std::optional<statistics::Interval> over_no_narrower = {};
};

struct CorrectedPortions {
    Corrected empty;
    Corrected shorted;
    Corrected exact;
    Corrected over;
};

[[nodiscard]] std::optional<CorrectedPortions>
corrected_portions(const ObservedPortions& observed, const statistics::Estimate& efficiency,
                   Confidence confidence);

// Of a mean count, or any other quantity that a gate's efficiency scales down.
[[nodiscard]] std::optional<Corrected> scaled_up(const statistics::Estimate& observed,
                                                 const statistics::Estimate& efficiency,
                                                 Confidence confidence);

} // namespace dropledger::measures
