// What a sequential plan really does: exact chances of each decision, mean number of entries, and
// the interval that stays honest after such a stop. Item-by-item recursion over the integer
// boundaries.
//
// Assumes: independent entries with one share p.
// Undefined when: nothing; without a maximum the recursion ends when less than 1e-13 of the chance
// is still running (every plan ends with certainty).
// Source: recursion: Aroian 1968; interval: ordering of the
// stopping points, Siegmund 1978, applied to the integer boundaries.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/stopping/sequential.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::statistics {

struct OperatingPoint {
    double p = 0.0;
    double accept = 0.0;
    double reject = 0.0;
    double undecided = 0.0; // only where there is a maximum
    double mean_entries = 0.0;
};

[[nodiscard]] OperatingPoint operating_point(const SequentialPlan& plan, Share p,
                                             std::optional<std::int64_t> maximum);

// Shares from 0 to twice the bad level in steps of a twentieth of it, with good, slope and `extra`
// among them. A usage error where the two levels are so close that the exact recursion would take
// minutes.
[[nodiscard]] Result<std::vector<OperatingPoint>>
operating_curve(const SequentialPlan& plan, std::optional<std::int64_t> maximum,
                const std::vector<Share>& extra);

struct SequentialStop {
    Decision decision = Decision::accept;
    std::int64_t entries = 0;
    std::int64_t hits = 0;
    std::int64_t maximum = 0;
};

// Two-sided interval of the share after a run that this plan ended (accept, reject or at the
// maximum). Outcomes are ordered: accepted early, accepted late, undecided by hits, rejected late,
// rejected early.
// Assumes: the run stopped at this plan's decision; throws BrokenInvariant for go_on.
[[nodiscard]] Interval interval_after_stop(const SequentialPlan& plan, const SequentialStop& stop,
                                           Confidence confidence);

} // namespace dropledger::statistics
