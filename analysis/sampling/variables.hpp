// One measured value a unit against limits: what range holds most units of the batch, and does it
// lie inside the limits?
//
// Assumes: one value a unit, units drawn at random. Normal values are tested first
// (Anderson-Darling at 5 %); only where they pass does the interval rest on noncentral t, and
// capability on mean and spread. Elsewhere the interval goes from one ordered value to another,
// whatever the distribution. Fewer than eight values can't be tested: normal is then assumed, and
// said to be.
// Units: the values' own.
// Undefined when: fewer than two values, or no spread with normal theory: no interval.
// Source: NIST/SEMATECH e-Handbook 7.2.6.3 and 6.1.6; Wilks 1941.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/normality.hpp"
#include "analysis/statistics/values/capability.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace dropledger::batch {

struct VariablesRequest {
    statistics::Specification limits; // one or both
    Share content{0.95};              // share of units that must lie inside
    Confidence confidence{0.95};
};

enum class Shape {
    normal,     // tested, nothing against it
    not_normal, // tested and refuted
    assumed,    // too few values to test
};
[[nodiscard]] std::string_view word_of(Shape shape);

struct ToleranceInterval {
    std::optional<double> lower; // only on the side(s) of a limit
    std::optional<double> upper;
    std::optional<double> factor; // k of mean ± k s; none where it rests on ordered values
    std::string method;
};

enum class VariablesOutcome {
    within,    // the tolerance interval lies inside the limits
    outside,   // so many values beyond the limits that the content can't be there
    undecided, // neither is shown
};
[[nodiscard]] std::string_view word_of(VariablesOutcome outcome);

struct VariablesResult {
    std::int64_t n = 0;
    double mean = 0.0;
    std::optional<double> sd;
    double least = 0.0;
    double most = 0.0;
    std::int64_t beyond = 0;           // values outside the limits
    statistics::Estimate share_beyond; // counted; Clopper-Pearson
    std::optional<statistics::AndersonDarling> normality;
    Shape shape = Shape::assumed;
    std::optional<ToleranceInterval> interval;
    std::optional<statistics::Capability> capability; // empty where values are not normal
    std::int64_t needed_without_distribution = 0;     // values for an interval of ordered values
    VariablesOutcome outcome = VariablesOutcome::undecided;
    std::string reason; // one sentence
};

// A usage error without a limit or with limits in the wrong order; an input error for fewer than
// two values.
[[nodiscard]] Result<VariablesResult> judge_variables(std::span<const double> values,
                                                      const VariablesRequest& request);

} // namespace dropledger::batch
