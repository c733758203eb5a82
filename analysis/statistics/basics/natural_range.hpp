// What a quantity cannot go beyond by its nature: a share lies in 0 … 1.
//
// Undefined when: it has no end on that side.
#pragma once

#include <optional>

namespace dropledger::statistics {

struct NaturalRange {
    std::optional<double> least;
    std::optional<double> most;
};

} // namespace dropledger::statistics
