// How many units a plan by variables needs: tolerance factors for a given n, and the smallest n
// with its k for a producer's and a consumer's point.
//
// Assumes: normal values with unknown spread. A lot is accepted where mean + k s (or mean - k s)
// stays inside one limit.
// Undefined when: fewer than two units: usage error; points so close that more than some 10,000
// values were needed: usage error.
// Source: noncentral t; the accepting statistic (limit - mean)/s times sqrt(n) is noncentral t with
// sqrt(n) times the normal quantile of the share inside. NIST/SEMATECH e-Handbook 7.2.6.3
// (factors).
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/quantile.hpp"
#include "analysis/statistics/stopping/two_point.hpp"
#include "analysis/statistics/values/tolerance.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::batch {

struct ToleranceFactors {
    statistics::ToleranceRequest request;
    double two_sided = 0.0;
    double two_sided_howe = 0.0; // the handbook's approximation, to compare
    double one_sided = 0.0;
    double one_sided_nist = 0.0;
    std::optional<statistics::Ranks> ranks; // without a distribution, two-sided
    std::optional<std::int64_t> rank_one_sided;
    statistics::ValuesNeeded needed; // without a distribution
};
[[nodiscard]] Result<ToleranceFactors>
tolerance_factors(const statistics::ToleranceRequest& request);

struct VariablesPlan {
    std::int64_t n = 0;
    double k = 0.0; // accept where the limit is at least k standard deviations from the mean
};

// The smallest n that keeps both risks; k in the middle of what they allow.
[[nodiscard]] Result<VariablesPlan> variables_plan(const statistics::TwoPoint& points);

// Exact chance of acceptance where this share of the units lies beyond the limit (0 < share < 1).
[[nodiscard]] double accept_probability(const VariablesPlan& plan, double share);

} // namespace dropledger::batch
