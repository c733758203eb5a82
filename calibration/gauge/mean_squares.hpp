// The interval of a sum or difference of mean squares: what variance components are made of.
//
// Assumes: independent mean squares, each a variance times chi-squared over its degrees of freedom.
// Source: modified large sample: Graybill & Wang 1980, Ting, Burdick, Graybill, Jeyaratnam & Lu
// 1990, as in Burdick & Graybill, Confidence Intervals on Variance Components, 1992 (from memory,
// checked by simulation).
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <vector>

namespace dropledger::calibration {

struct MeanSquare {
    double coefficient = 0.0; // its sign says sum or difference
    double value = 0.0;
    double degrees = 1.0;
};

[[nodiscard]] double combined(const std::vector<MeanSquare>& terms);
// Not cut at 0.
[[nodiscard]] statistics::Interval modified_large_sample(const std::vector<MeanSquare>& terms,
                                                         Confidence confidence);

} // namespace dropledger::calibration
