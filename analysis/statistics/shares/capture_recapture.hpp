// Two observers of the same fall: how many seeds fell in all, and what each gate sees.
//
// Assumes: the gates miss independently of each other, or at most with the odds ratio stated
// (`greatest_odds`); every seed could be seen by both, and matching is right. Two gates alone can't
// tell whether seeds that escape one escape the other more easily: where they do, intervals at odds
// 1 hold too seldom (README), and the estimates stay what they are at odds 1.
// Undefined when: nothing at all seen (seeds), a gate saw nothing (the other's efficiency):
// std::nullopt; no pair (the limits of the seeds: any number may have fallen).
// Source: Chapman 1951 with Seber's variance; limits: matched_pairs.hpp.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/shares/matched_pairs.hpp"

#include <optional>
#include <string>

namespace dropledger::statistics {

struct Recapture {
    Estimate seeds; // Chapman, with the limits of the law of matched pairs
    double standard_error = 0.0;
    Interval normal_limits; // Chapman ± z standard errors
    std::optional<double> petersen;
    std::optional<Estimate> first_efficiency;  // both / second
    std::optional<Estimate> second_efficiency; // both / first
    double greatest_odds =
        1.0;                // of a seed being overlooked by one gate where the other overlooks it
    std::string assumption; // a sentence, to be printed with the numbers
};

// Intervals hold for every odds ratio from 1 to `greatest_odds`. Throws BrokenInvariant where
// `both` exceeds one of the others or the odds lie below 1.
[[nodiscard]] std::optional<Recapture> recapture(TwoObservers seen, Confidence confidence,
                                                 double greatest_odds = 1.0);

} // namespace dropledger::statistics
