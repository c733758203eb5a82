// How strongly neighbouring values of a run hang together, as far as the run can tell: the one
// model of dependence for means, standard deviations, quantiles and shares of continuous things.
//
// Model: values = a part that wanders, with correlation rho^k over k values, and a part of their
// own; the wandering part is `wander` of the variance. wander = 1 is the autoregression of first
// order, rho = 0 independence. What is not known of rho and wander is integrated out over a grid:
// prior 0.8 on independence, 0.14 on wander = 1 and 0.06 on the rest, with density (1 - rho)^-1/2
// in rho up to 1 - 1/n. The likelihood is that of the energies by scale (scale_energies.hpp), taken
// as independent chi-squares, with the scale of the values integrated out (1/sigma).
// Assumes: a stationary run. Negative correlation counts as none: intervals are then too wide.
// Dependence of which the run shows no sign, and could not at its length, is left out.
// Undefined when: fewer than four values, or all alike: no model.
// Source: analysis of variance by scale: Percival & Walden 2000, ch. 8; indicator correlations by
// Hermite series (tetrachoric): Pearson 1900. Prior and grid are our own choice; how well they hold
// stands in analysis/measures/README.md.
#pragma once

#include "analysis/statistics/values/scale_energies.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::statistics {

// What the model needs of a run.
struct SeriesSums {
    std::int64_t n = 0;
    double squares = 0.0; // sum of squared deviations from the mean
    std::vector<ScaleEnergy> scales;
};

// One point of the grid.
struct DependencePoint {
    double rho = 0.0;
    double wander = 0.0;
    double weight = 0.0;   // they add up to 1
    double variance = 0.0; // of the values, as this point explains the energies
    double degrees = 0.0;  // on which that rests
};

// Tail share of an indicator (value below a quantile, share inside a band), as weights of powers of
// the values' correlation.
class IndicatorWeights {
public:
    // 0 < tail < 1
    explicit IndicatorWeights(double tail);
    // Variance of the mean of n indicators over that of independent ones.
    [[nodiscard]] double inflation(const DependencePoint& point, double n) const;

private:
    std::vector<double> weights_; // of r, r², r³, …; they add up to 1
};

class Dependence {
public:
    [[nodiscard]] static std::optional<Dependence> of(const SeriesSums& sums);

    [[nodiscard]] std::int64_t n() const { return n_; }
    [[nodiscard]] double sample_variance() const { return sample_variance_; }
    [[nodiscard]] const std::vector<DependencePoint>& points() const { return points_; }
    // Variance of the mean over that of independent values: of one point, and on average.
    [[nodiscard]] double mean_inflation(const DependencePoint& point) const;
    [[nodiscard]] double mean_inflation() const;
    // Of the mean square: correlations count squared.
    [[nodiscard]] double square_inflation(const DependencePoint& point) const;
    // Probability that the values are not independent.
    [[nodiscard]] double doubt() const;
    // Independent values that would tell as much of the mean.
    [[nodiscard]] double effective_n() const;

private:
    std::int64_t n_ = 0;
    double sample_variance_ = 0.0;
    std::vector<DependencePoint> points_;
};

// Variance of the mean of n values whose correlation over k is r^k, over that of independent ones.
[[nodiscard]] double geometric_inflation(double r, double n);

} // namespace dropledger::statistics
