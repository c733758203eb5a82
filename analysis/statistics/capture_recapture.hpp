// Two observers of the same fall: how many seeds fell in all, and what each gate sees.
//
// Assumes: the gates miss independently of each other, every seed could be seen by both, and
// matching is right. Undefined when: nothing at all seen (seeds), a gate saw nothing (the other's
// efficiency): std::nullopt. Source: Chapman 1951 with Seber's variance; limits: Sadinle 2009
// (transformed logit).
#pragma once

#include "analysis/base/quantity.hpp"
#include "analysis/statistics/estimate.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct TwoObservers {
    std::int64_t both = 0;   // matched pairs
    std::int64_t first = 0;  // all that the first saw
    std::int64_t second = 0; // all that the second saw
};

struct Recapture {
    Estimate seeds; // Chapman, with Sadinle's limits
    double standard_error = 0.0;
    Interval normal_limits; // Chapman ± z standard errors
    std::optional<double> petersen;
    std::optional<Estimate> first_efficiency;  // both / second
    std::optional<Estimate> second_efficiency; // both / first
};

// Throws BrokenInvariant where `both` exceeds one of the others.
[[nodiscard]] std::optional<Recapture> recapture(TwoObservers seen, Confidence confidence);

} // namespace dropledger::statistics
