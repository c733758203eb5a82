// One estimated quantity with its interval, and the words that say how the interval was made.
//
// Undefined when: no interval exists (n = 1, …): low and high are empty, and `no_interval` says why
// where that is known. A quantity that cannot be computed at all is a std::optional<Estimate>
// without value, never 0 and never NaN.
#pragma once

#include "analysis/base/units.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::statistics {

struct Interval {
    double low = 0.0;
    double high = 0.0;
};

// Why a value stands without interval.
enum class NoInterval : std::uint8_t {
    few_values,     // too few for any interval that would hold
    all_equal,      // no scatter was seen, so nothing says how far the value may be off
    chosen_by_data, // the greatest of many shares that the same values were searched for
    hangs_together, // neighbours depend on each other so much that hardly any value is new
    tails_unknown,  // too few to know how heavy the tails are
    too_few_ranks,  // the quantile lies too near the edge of the sample
    not_identified, // the data fit several values equally well
    speed_unknown,  // how far an uncertain time reaches needs a speed
    fall_unknown,   // nobody says how long seeds fall to the ground
    no_pair,        // two gates saw no seed in common: any number may have fallen
};

[[nodiscard]] std::string_view words(NoInterval why);  // "no interval: too few values"
[[nodiscard]] std::string_view key_of(NoInterval why); // in JSON

struct Estimate {
    double value = 0.0;
    std::optional<Interval> interval = {};
    Confidence confidence{0.95};
    std::string method = {}; // "Clopper-Pearson", "median, order statistics", …
    std::optional<NoInterval> no_interval = {};
    // Of a share: the independent events that it rests on (rows.hpp); a verdict beyond the limit
    // needs a least number of them.
    std::optional<std::int64_t> events = {};
};

} // namespace dropledger::statistics
