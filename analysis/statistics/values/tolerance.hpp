// Tolerance intervals: mean ± k s that holds a stated share of all units with a stated confidence.
//
// Assumes: normal values for the factors k (check with normality.hpp); none for the ranks.
// Undefined when: n < 2 for a factor is our own bug (BrokenInvariant); too few values for ranks:
// std::nullopt.
// Source: NIST/SEMATECH e-Handbook 7.2.6.3; Howe 1969 (approximate); Wald & Wolfowitz 1946 by
// numerical integration (exact two-sided); noncentral t (exact one-sided); Wilks 1941 (ranks).
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/quantile.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct ToleranceRequest {
    std::int64_t n = 0;
    Share content{0.95};
    Confidence confidence{0.95};
};

[[nodiscard]] double two_sided_factor(const ToleranceRequest& request);      // exact
[[nodiscard]] double two_sided_factor_howe(const ToleranceRequest& request); // approximate
[[nodiscard]] double one_sided_factor(const ToleranceRequest& request);      // exact
[[nodiscard]] double one_sided_factor_nist(const ToleranceRequest& request); // approximate

// Distribution-free: the interval from the low-th to the high-th smallest holds the content with at
// least the confidence; the narrowest such pair that cuts off evenly.
[[nodiscard]] std::optional<Ranks> tolerance_ranks(const ToleranceRequest& request);

// The same on one side: at most (at least) the m-th largest (smallest) value holds the content; the
// largest such m.
[[nodiscard]] std::optional<std::int64_t> tolerance_rank_one_sided(const ToleranceRequest& request);

// The smallest n for which those exist: how many values it takes without a distribution.
struct ValuesNeeded {
    std::int64_t one_sided = 0;
    std::int64_t two_sided = 0;
};
[[nodiscard]] ValuesNeeded values_needed(Share content, Confidence confidence);

} // namespace dropledger::statistics
