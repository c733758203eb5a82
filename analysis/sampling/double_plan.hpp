// Double sampling: a clear first sample decides at once, a doubtful one calls for a second.
//
// Assumes: after n1 units accept with at most accept1 nonconforming, reject from reject1 on;
// between them draw n2 more and accept with at most accept2 in both samples together.
// Undefined when: numbers that leave no order (accept1 < reject1 - 1 is needed for a second
// sample): usage error.
// Source: NIST/SEMATECH e-Handbook 6.2.3.3; average sample number without curtailment.
#pragma once

#include "analysis/base/result.hpp"

#include <algorithm>
#include <cstdint>

namespace dropledger::batch {

struct DoublePlan {
    std::int64_t n1 = 0;
    std::int64_t accept1 = 0;
    std::int64_t reject1 = 1;
    std::int64_t n2 = 0;
    std::int64_t accept2 = 0;
};
[[nodiscard]] Result<DoublePlan> checked(const DoublePlan& plan);

struct DoublePoint {
    double p = 0.0;
    double accept_first = 0.0;  // by the first sample
    double accept_second = 0.0; // by the second
    double mean_sample = 0.0;   // average sample number
    [[nodiscard]] double accept_probability() const {
        return std::min(1.0, accept_first + accept_second);
    }
};

// Binomial: a stream, or a lot large against the samples.
[[nodiscard]] DoublePoint double_point(const DoublePlan& plan, double p);
// Hypergeometric: the second sample comes out of what the first one left.
[[nodiscard]] DoublePoint double_point_of_lot(const DoublePlan& plan, std::int64_t lot,
                                              std::int64_t nonconforming);

} // namespace dropledger::batch
