// Intervals of a mean, a standard deviation, a quantile and a share of values that may hang
// together, over what the run leaves open of their dependence (dependence.hpp).
//
// Assumes: a stationary run; for shares and quantiles that correlations carry over to indicators as
// they do for normal values.
// How: at each point of the dependence the classical interval at the number of independent values
// that would tell as much (Student's t; chi-square with degrees for the kurtosis seen; exact ranks;
// Clopper-Pearson); the limits are where the tails, averaged over the points, reach (1 −
// confidence)/2. On independent values they are the classical limits, wider by the little that
// chance correlation can't be told from a real one.
// Undefined when: fewer than `fewest_values` values, or what they tell is that of fewer than
// `fewest_effective` independent ones: no interval, and the reason. A standard deviation has none
// under `fewest_for_sd` values: their sample does not show how heavy the tails are.
// Source: Student 1908; variance of s² by the kurtosis: Fisher 1929; kurtosis about the median and
// raised for small samples as in Bonett 2006 (the constants are our own, by simulation); order
// statistics: David & Nagaraja, ch. 7; Clopper & Pearson 1934.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/basics/quantile.hpp"
#include "analysis/statistics/values/dependence.hpp"

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace dropledger::statistics {

constexpr std::int64_t fewest_values = 10;
constexpr std::int64_t fewest_for_sd = 100;
constexpr double fewest_effective = 2.0;

// What is known of a mean: Student's t over several scales.
class MeanLaw {
public:
    explicit MeanLaw(const Dependence& dependence);

    // P(the estimate lies further than `apart` from the mean, on either side).
    [[nodiscard]] double beyond(double apart) const;
    // The same where an error of its own, with standard uncertainty `u`, comes on top.
    [[nodiscard]] double beyond(double apart, double u) const;
    [[nodiscard]] double half_width(Confidence confidence) const;
    // Root mean square over the points.
    [[nodiscard]] double standard_error() const;

private:
    struct Part {
        double weight = 0.0;
        double scale = 0.0;
        double degrees = 0.0;
    };
    std::vector<Part> parts_;
};

// Why no interval can be given; nothing where one can.
[[nodiscard]] std::optional<NoInterval> reason_against(const Dependence& dependence);

// `what` begins the method's words.
[[nodiscard]] Estimate mean_estimate(double value, const Dependence& dependence,
                                     std::string_view what, Confidence confidence);

// Shape of the sample, as the variance of its standard deviation needs it.
struct SampleShape {
    double kurtosis = 3.0; // mean fourth power about the median over the squared variance
    // Added to kurtosis − 1 where the sd is divided by a power of the mean (coefficient of
    // variation, index of dispersion).
    double by_mean = 0.0;
};

// Limits of a variance over its estimate: the true one lies between low and high times it.
struct VarianceFactors {
    std::optional<Interval> interval;
    std::optional<NoInterval> no_interval;
};
[[nodiscard]] VarianceFactors variance_factors(const Dependence& dependence,
                                               const SampleShape& shape, Confidence confidence);

struct RanksAsked {
    double share = 0.5;
    double design = 1.0; // further variance inflation, by clusters
};
struct RankLimits {
    std::optional<Ranks> ranks;
    double stretch = 1.0; // of the limits' distances from the value: the sample's own spread is
                          // smaller than the run's where neighbours hang together
    std::optional<NoInterval> no_interval;
};
// Of `count` values, which may be more than the series that the dependence was found in (clusters).
[[nodiscard]] RankLimits quantile_ranks(std::int64_t count, const RanksAsked& asked,
                                        const Dependence& dependence, Confidence confidence);

// A share of indicators of the values (inside a band).
[[nodiscard]] Estimate share_estimate(std::int64_t x, std::int64_t n, const Dependence& dependence,
                                      Confidence confidence);

} // namespace dropledger::statistics
