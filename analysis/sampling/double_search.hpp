// The smallest double sampling plan that keeps a producer's and a consumer's risk.
//
// Assumes: the second sample is a whole multiple of the first. Smallest: the least first sample of
// all; among those the one with the least mean sample at the good level. Found by trying every
// first sample from below with every accept1, reject1 and accept2, so that no smaller one exists.
// Undefined when: points so close that a single plan needs more than 5,000 units, or (in a lot) no
// double plan fits: usage error.
// Source: NIST/SEMATECH e-Handbook 6.2.3.3; exact on the binomial or the hypergeometric law.
#pragma once

#include "analysis/sampling/double_plan.hpp"
#include "analysis/statistics/stopping/two_point.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::batch {

struct DoubleSearch {
    statistics::TwoPoint points;
    std::int64_t ratio = 1;          // n2 = ratio * n1
    std::optional<std::int64_t> lot; // hypergeometric where given
};

struct FoundDoublePlan {
    DoublePlan plan;
    DoublePoint at_good; // of a lot: at the whole count next below; at_bad: next above
    DoublePoint at_bad;
};

[[nodiscard]] Result<FoundDoublePlan> smallest_double_plan(const DoubleSearch& search);

} // namespace dropledger::batch
