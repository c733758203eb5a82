// The figures that an efficiency was worked out from, kept so that anybody can work it out again.
//
// Undefined when: figures that cannot be, or a gate whose partner saw nothing: an error.
#pragma once

#include "calibration/efficiency/efficiency.hpp"

#include <string>
#include <variant>

namespace dropledger::calibration {

struct TwoGateCount {
    statistics::TwoObservers seen;
    double greatest_odds = 1.0;
};

using Figures = std::variant<TwoGateCount, HandCount, Weighing>;

// Of gate 0 or 1; at most 1.
[[nodiscard]] Result<statistics::Estimate> efficiency_of(const Figures& figures, int gate,
                                                         Confidence confidence);

// "990 seeds seen by both gates, 1000 by the first, 995 by the second"
[[nodiscard]] std::string words_of(const Figures& figures);

} // namespace dropledger::calibration
