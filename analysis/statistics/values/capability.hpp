// Process capability against specification limits, with intervals.
//
// Assumes: normal values.
// Undefined when: fewer than two values, no spread, or no limit: std::nullopt.
// Source: NIST/SEMATECH e-Handbook 6.1.6; Cp by chi-square, Cpk by Bissell 1990 (normal
// approximation).
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/statistics/basics/moments.hpp"

#include <optional>

namespace dropledger::statistics {

struct Specification {
    std::optional<double> lower;
    std::optional<double> upper;
};

struct Capability {
    std::optional<Estimate> cp; // only with both limits
    std::optional<double> cpl;
    std::optional<double> cpu;
    Estimate cpk; // the smaller of the two that exist
};

[[nodiscard]] std::optional<Capability> capability(const Moments& values, Specification limits,
                                                   Confidence confidence);

} // namespace dropledger::statistics
