// One estimated quantity with its interval, and the words that say how the interval was made.
//
// Undefined when: no interval exists (n = 1, …): `interval` is empty and `no_interval` says why. A
// quantity that cannot be computed at all is a std::optional<Estimate> without value, never 0 and
// never NaN.
#pragma once

#include "analysis/base/quantity.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::statistics {

struct Interval {
    double low = 0.0;
    double high = 0.0;
};

enum class NoInterval : std::uint8_t {
    too_few_values,
    all_equal,      // no scatter was seen, so nothing says how far the value may be off
    chosen_by_data, // the greatest of many shares that the same values were searched for
};

// A clause, "too few values" for one.
[[nodiscard]] std::string_view words_of(NoInterval reason);

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
