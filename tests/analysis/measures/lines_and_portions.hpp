// How often nominal 95 % intervals of lines and of portions' mean counts hold the truth: regular,
// random and clustered lines; portions with empties by themselves and in rows.
//
// The same seed gives the same runs.
#pragma once

#include "tests/analysis/measures/wandering.hpp"

namespace dropledger::measures::coverage {

enum class LineKind {
    regular, // seeds at even places, each off its own by some millimetres
    renewed, // even spacings, whose errors add up
    random,
    thin,     // random, half a seed a segment
    clustered // clusters of 5 on average within 60 mm
};

struct CountScenario {
    std::string name;
    std::optional<LineKind> line{}; // none: portions
    double empty = 0.0;             // share of portions,
    double row = 1.0;               // in rows of this mean length
};

[[nodiscard]] const std::vector<CountScenario>& count_scenarios();

// `drops`: of a line, segments.
[[nodiscard]] std::map<std::string, Held> study(const CountScenario& scenario,
                                                const ErrorStudy& how);

} // namespace dropledger::measures::coverage
