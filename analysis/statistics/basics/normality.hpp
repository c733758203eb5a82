// Are values normal? Anderson-Darling test with mean and spread estimated from the values.
//
// Undefined when: fewer than eight values or no spread: std::nullopt.
// Source: Anderson & Darling 1954; p-value: Stephens in D'Agostino & Stephens 1986, table 4.9
// (memory).
#pragma once

#include <optional>
#include <span>

namespace dropledger::statistics {

struct AndersonDarling {
    double a_squared = 0.0;
    double p = 1.0;
};

[[nodiscard]] std::optional<AndersonDarling> anderson_darling(std::span<const double> values);

} // namespace dropledger::statistics
