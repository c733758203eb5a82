// How many more entries would decide a criterion with a chance of 90 %.
//
// Assumes: things go on as they are. What they are is known only as well as the entries so far say
// (a share: beta law of Jeffreys' prior; any other estimate: normal, by its interval), so the
// number allows for that too and for the chance of the entries to come. Entries are judged by the
// same interval as before, with the same inflation.
// Undefined when: nothing seen yet, or no number within the cap has that chance (an estimate close
// to the limit).
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

constexpr double chance_of_deciding = 0.9;

struct ShareSeen {
    std::int64_t x = 0;
    std::int64_t n = 0;
    double inflation = 1.0; // variance inflation, below 1 counts as 1
};

// Nothing: not within `cap` more entries. 0: the interval does not hold the limit now.
[[nodiscard]] std::optional<std::int64_t> more_needed(const ShareSeen& seen, Share limit,
                                                      Confidence confidence, std::int64_t cap);

// The same for any other estimate from n entries: its interval shrinks with the square root of n.
[[nodiscard]] std::optional<std::int64_t> more_needed(const Estimate& estimate, std::int64_t n,
                                                      double limit, std::int64_t cap);

} // namespace dropledger::statistics
