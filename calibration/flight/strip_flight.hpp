// The flight time from landings on a strip: one travel speed with the rule's zero known, or several
// without.
//
// landing − travel position = v·f + z, with z where the rule's zero lies. With z known each seed
// gives its own f. Without, two speeds or more part them: a straight line in v, weighted by each
// run's scatter. Whatever shifts all landings alike (the rule's zero, a travel told in whole
// counts) goes into z then and leaves f alone.
// Units: mm, m/s, µs.
// Assumes: the rule keeps its place from run to run.
// Undefined when: one speed and no zero: refused.
// Source: JCGM 100, Welch–Satterthwaite for two runs.
#pragma once

#include "calibration/flight/strip.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::calibration {

struct RuleZero {
    std::optional<double> mm; // travel position of the rule's zero
    double u_mm = 0.0;        // standard uncertainty that all landings share
};

struct BudgetLine {
    std::string source;
    double u_us = 0.0;
};

struct StripFlight {
    FlightResult result;
    std::optional<statistics::Estimate> zero_mm; // where it was not given
    std::vector<BudgetLine> budget;              // what the uncertainty is made of
    std::optional<double> lack_of_fit_p;         // three speeds and more
};

[[nodiscard]] Result<StripFlight> flight(const std::vector<Strip>& strips, const RuleZero& zero,
                                         Confidence confidence);

struct FlightComparison {
    double difference_us = 0.0; // data less geometry
    double u_us = 0.0;
    bool agree = false;
    std::string words;
};
[[nodiscard]] FlightComparison compare(const FlightResult& data, const FlightResult& geometry,
                                       Confidence confidence);

} // namespace dropledger::calibration
