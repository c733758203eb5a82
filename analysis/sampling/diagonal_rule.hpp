// Plans of AQLs that the published files do not hold (0.010 to 0.065 and 10), by the rule that the
// tables were made from.
//
// Assumes: along a diagonal of letter and AQL the numbers are the same, and an arrow leads to the
// next letter that has numbers. A test holds every published cell against this rule.
// Source: construction of the MIL-STD-105E tables (from memory); seen to hold in all 480 cells.
#pragma once

#include "analysis/sampling/sampling_plan.hpp"

#include <optional>
#include <vector>

namespace dropledger::batch {

// In percent, ascending; the tables' own too.
[[nodiscard]] const std::vector<double>& rule_aqls();

// Nothing where the AQL is none of them. `letter`: A to R without I and O.
[[nodiscard]] std::optional<AttributePlan> plan_by_rule(char letter, double aql, Severity severity);

} // namespace dropledger::batch
