// Does a series rise or fall along the run, when its neighbours may hang together?
//
// Model: a straight line plus an autoregression of first order with correlation rho >= 0,
// integrated out over a grid: prior 0.3 on independence, the rest even in rho from 0 to 1. At each
// rho generalised least squares with flat priors on the line and 1/sigma on the scatter: the slope
// is Student's t on n − 2 degrees of freedom.
// Assumes: values one step apart, of like scatter, correlation not much over 0.6 in a short series
// (block means of errors that correlate by 0.9: 0.6).
// Undefined when: fewer than five values.
// Source: Box, Jenkins & Reinsel 2008, ch. 9 (regression with autoregressive errors); Zellner 1971.
// Prior and grid are our own choice; false alarms: analysis/causes/README.md.
#pragma once

#include <optional>
#include <span>
#include <vector>

namespace dropledger::statistics {

class SlopeLaw {
public:
    [[nodiscard]] static std::optional<SlopeLaw> of(std::span<const double> values);

    // Two-sided, of no slope at all.
    [[nodiscard]] double p_value() const;
    // Root mean square over rho, a step.
    [[nodiscard]] double standard_error() const;

private:
    struct Part {
        double weight = 0.0;
        double slope = 0.0;
        double error = 0.0;
    };
    double degrees_ = 1.0;
    std::vector<Part> parts_;
};

} // namespace dropledger::statistics
