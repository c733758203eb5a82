// One estimated quantity with its interval, and the words that say how the interval was made.
//
// Undefined when: no interval exists (n = 1, …): low and high are empty. A quantity that cannot be
// computed at all is a std::optional<Estimate> without value, never 0 and never NaN.
#pragma once

#include "analysis/base/quantity.hpp"

#include <optional>
#include <string>

namespace dropledger::statistics {

struct Interval {
    double low = 0.0;
    double high = 0.0;
};

struct Estimate {
    double value = 0.0;
    std::optional<Interval> interval;
    Confidence confidence{0.95};
    std::string method; // "Clopper-Pearson", "median, order statistics", …
};

} // namespace dropledger::statistics
