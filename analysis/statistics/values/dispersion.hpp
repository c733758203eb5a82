// Index of dispersion (variance over mean) of counts, with its chi-square test against a random
// (Poisson) line.
//
// Assumes: counts of segments of one length.
// Undefined when: fewer than two segments, or nothing counted at all: std::nullopt.
// Source: Fisher, Thornton & Mackenzie 1922; chi-square = (n - 1) * index on n - 1 degrees of
// freedom.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/values/dependent_intervals.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct CountSums {
    std::int64_t n = 0;
    std::int64_t sum = 0;
    std::int64_t sum_squares = 0;
};

struct Dispersion {
    double mean = 0.0;
    double variance = 0.0; // divisor n - 1
    double index = 0.0;    // variance / mean: 1 for a random line, less for an even one
    double cv = 0.0;       // sd / mean
    double chi_squared = 0.0;
    double degrees = 0.0;
    double p_clustered = 1.0; // P(chi-square larger)
    double p_even = 1.0;      // P(chi-square smaller)
};

[[nodiscard]] std::optional<Dispersion> index_of_dispersion(CountSums counts);

// The index and the coefficient of variation with their intervals, from the limits of the variance
// over its estimate. A line more even than a random one (p < 0.005) is ruled by where its seeds lie
// against the segments' edges: that can add or hide up to ½ seed² (two edges, each ¼ at most), and
// the variance's limits are set apart by so much.
struct DispersionEstimates {
    Estimate index;
    Estimate cv;
};
[[nodiscard]] std::optional<DispersionEstimates> dispersion_estimates(CountSums counts,
                                                                      const VarianceFactors& index,
                                                                      const VarianceFactors& cv,
                                                                      Confidence confidence);

} // namespace dropledger::statistics
