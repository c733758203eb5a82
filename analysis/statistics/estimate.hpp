// One estimated quantity with its interval, and the words that say how the interval was made.
//
// Undefined when: no interval exists (n = 1, …): low and high are empty, and `no_interval` says why
// where that is known. A quantity that cannot be computed at all is a std::optional<Estimate>
// without value, never 0 and never NaN.
#pragma once

#include "analysis/base/quantity.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace dropledger::statistics {

struct Interval {
    double low = 0.0;
    double high = 0.0;
};

// Why a value stands without interval.
enum class NoInterval {
    few_values,     // too few for any interval that would hold
    hangs_together, // neighbours depend on each other so much that hardly any value is new
    tails_unknown,  // too few to know how heavy the tails are
    too_few_ranks,  // the quantile lies too near the edge of the sample
};

[[nodiscard]] constexpr std::string_view words(NoInterval why) {
    switch (why) {
    case NoInterval::few_values:
        return "no interval: too few values";
    case NoInterval::hangs_together:
        return "no interval: neighbouring values depend on each other too much for this length";
    case NoInterval::tails_unknown:
        return "no interval: too few values to know how heavy the tails are";
    case NoInterval::too_few_ranks:
        return "no interval: too few values lie beyond the quantile";
    }
    return "no interval";
}

struct Estimate {
    double value = 0.0;
    std::optional<Interval> interval;
    Confidence confidence{0.95};
    std::string method; // "Clopper-Pearson", "median, order statistics", …
    std::optional<NoInterval> no_interval{};
};

} // namespace dropledger::statistics
