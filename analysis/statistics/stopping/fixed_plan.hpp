// The smallest single sample that keeps both risks: n entries, accept with at most c hits.
//
// Source: the two-point design of a single sampling plan; exact on the binomial (a stream of drops)
// or the hypergeometric law (units drawn from a lot).
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/stopping/two_point.hpp"

#include <cstdint>

namespace dropledger::statistics {

struct FixedPlan {
    std::int64_t n = 0;
    std::int64_t accept = 0; // at most so many hits
};

// A usage error for unsound points, or where more than a million entries were needed.
[[nodiscard]] Result<FixedPlan> fixed_plan(TwoPoint points);

// For a lot of so many units; the good level is the largest whole count at or below good * lot, the
// bad one the smallest at or above bad * lot. Always exists: at worst the whole lot.
[[nodiscard]] Result<FixedPlan> fixed_plan_of_lot(TwoPoint points, std::int64_t lot);

// P(at most plan.accept hits) of a stream with share p.
[[nodiscard]] double accept_probability(FixedPlan plan, double p);
// The same for a lot that holds so many nonconforming units.
struct LotContent {
    std::int64_t lot = 0;
    std::int64_t nonconforming = 0;
};
[[nodiscard]] double accept_probability(FixedPlan plan, LotContent lot);

} // namespace dropledger::statistics
