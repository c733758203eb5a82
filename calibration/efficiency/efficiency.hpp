// How many of the seeds that fall a gate counts: by two gates as two observers, by a hand-counted
// drop, by weighing.
//
// Units: shares are fractions, masses grams, u is a standard uncertainty.
// Undefined when: counts that cannot be (more in both than in one, more seen than dropped) are
// refused; a gate whose partner saw nothing has no efficiency.
// Assumes: for two gates, that they overlook seeds independently or with at most a stated odds
// ratio; dependence() says what other ratios would mean.
// Source: Chapman 1951, Seber 1982; JCGM 100 for the weighing; difference of two
// estimates by Zou & Donner 2008 (each side's own half-widths, added in quadrature).
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/shares/capture_recapture.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

// `greatest_odds`: how much more readily, at most, a seed that one gate overlooks escapes the
// other; the intervals then hold for all odds ratios from 1 to that.
[[nodiscard]] Result<statistics::Recapture>
two_gates(statistics::TwoObservers seen, Confidence confidence, double greatest_odds = 1.0);

// If a seed overlooked by one gate is the likelier to be overlooked by the other: `odds` is the
// odds ratio of the 2 × 2 table seen/overlooked, 1 where the gates are independent.
struct Dependence {
    double odds = 1.0;
    double seeds = 0.0;
    double first_efficiency = 0.0;
    double second_efficiency = 0.0;
};

[[nodiscard]] std::vector<Dependence> dependence(statistics::TwoObservers seen,
                                                 const std::vector<double>& odds);

// What an efficiency found without the other gate says of seeds that escaped both.
struct ImpliedDependence {
    statistics::Estimate missed_by_both;
    double expected = 0.0;                    // if the gates overlooked seeds independently
    std::optional<statistics::Estimate> odds; // none where one gate saw all that the other saw
    std::string words;
};
// `first`: whose efficiency it is. Nothing without an interval.
[[nodiscard]] std::optional<ImpliedDependence>
implied_dependence(statistics::TwoObservers seen, bool first,
                   const statistics::Estimate& efficiency);

struct HandCount {
    std::int64_t dropped = 0;
    std::int64_t seen = 0;
};

[[nodiscard]] Result<statistics::Estimate> efficiency_of(HandCount count, Confidence confidence);

struct Weighing {
    double mass_g = 0.0;
    double mass_u_g = 0.0;
    double thousand_g = 0.0;
    double thousand_u_g = 0.0;
    std::int64_t pulses = 0;
};

struct WeighingResult {
    statistics::Estimate seeds;
    double seeds_u = 0.0;
    // Its value may exceed 1 by the weighing's error; its interval does not
    statistics::Estimate efficiency;
    double efficiency_u = 0.0;
};

[[nodiscard]] Result<WeighingResult> efficiency_of(const Weighing& weighing, Confidence confidence);

struct Way {
    std::string name; // "two gates", "hand count", "weighing"
    statistics::Estimate efficiency;
};

struct Comparison {
    std::string first;
    std::string second;
    double difference = 0.0; // first less second
    statistics::Interval interval;
    bool agree = false; // the interval holds 0
    std::string words;
};

// Every pair. Estimates without an interval are left out.
[[nodiscard]] std::vector<Comparison> compare(const std::vector<Way>& ways);

} // namespace dropledger::calibration
