// What the counted runs of a batch say of all its units.
//
// Assumes: shares are fractions.
// Undefined when: too few units, or no misses or only misses: the estimates are empty.
#pragma once

#include "analysis/batch/runs/tested_run.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>
#include <span>

namespace dropledger::batch {

struct BatchStatistics {
    std::int64_t units = 0;
    std::int64_t drops = 0;
    std::int64_t misses = 0;                         // as the gate saw them
    std::optional<statistics::Estimate> pooled_miss; // misses over drops, all counted runs
    // Of all units of the batch, from the tested ones alone: nonconforming of decided, no model.
    std::optional<statistics::Estimate> nonconforming_share;
    std::optional<double> limit; // of the profile, for the miss share
    // Of all units of the batch, own miss share above that limit: beta-binomial model.
    std::optional<statistics::Estimate> share_outside;
    std::optional<double> tarone_p; // units differ beyond chance where it is small
};

// Misses over all counted runs, and the share of all units above the limit (where there is one).
[[nodiscard]] BatchStatistics statistics_of(std::span<const TestedRun> runs,
                                            std::optional<double> limit, Confidence confidence,
                                            std::optional<std::int64_t> pooled_runs = {});

} // namespace dropledger::batch
