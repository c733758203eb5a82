// A straight line y = intercept + slope·x by weighted least squares, with what it says about its
// own fit.
//
// Assumes: errors in y only, independent. Where each point brings its standard uncertainty u, the
// weights are 1/u² and the parameters' uncertainties follow from the u alone; else all points weigh
// alike and the scatter about the line tells. Points with u may each have an offset of their own on
// top (run to run): from `enough_for_offsets` points on its standard deviation is integrated out
// over a grid (prior 0.2 on none, the rest even on the log scale from a quarter of the mean u to 25
// times it). Fewer points can't show it: that there is none is then an assumption, and where they
// scatter more than their u allow (p < 0.05) the uncertainties are widened by the Birge ratio.
// Undefined when: fewer than 3 points, x all alike, a u that is not above 0: std::nullopt.
// Source: JCGM 100 H.3; Birge 1932; Röver, Jesus, Dietz & Friede 2015 (random effects on a grid;
// from memory), prior our own.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <cstddef>
#include <optional>
#include <vector>

namespace dropledger::statistics {

struct FitPoint {
    double x = 0.0;
    double y = 0.0;
    std::optional<double> u; // standard uncertainty of y; all points have one, or none
    // Points of one group have the same x by intent; for the lack-of-fit test without u
    std::optional<int> group;
};

struct Predicted {
    double value = 0.0;
    double u = 0.0;
};

constexpr std::size_t enough_for_offsets = 9; // three at each of three speeds

struct LineFit {
    double intercept = 0.0;
    double slope = 0.0;
    double u_intercept = 0.0;
    double u_slope = 0.0;
    double covariance = 0.0;         // of intercept and slope
    double degrees = 0.0;            // n − 2
    double residual_sd = 0.0;        // without u: of the points about the line
    std::optional<double> r_squared; // without u
    bool weighted = false;
    std::optional<double> chi_squared;   // with u
    std::optional<double> lack_of_fit_p; // chi-squared with u; F against repeated points without
    double widened = 1.0;                // Birge ratio, or what the points' own offsets add
    // With u and enough points: standard deviation of the points' own offsets, root mean square.
    std::optional<double> offsets_sd;

    [[nodiscard]] Predicted at(double x) const;
    [[nodiscard]] double correlation() const;
    // Normal limits with u that hold, averaged over the points' own offsets where they are
    // integrated out; Student's t on `degrees` otherwise.
    [[nodiscard]] double coverage_factor(Confidence confidence) const;

    // The slope at one size of the points' own offsets.
    struct SlopePart {
        double weight = 0.0;
        double slope = 0.0;
        double u = 0.0;
    };
    std::vector<SlopePart> slope_parts; // none where nothing is integrated out
};

[[nodiscard]] std::optional<LineFit> fit_line(const std::vector<FitPoint>& points);

} // namespace dropledger::statistics
