// One quantity of one unit over its runs, as an individuals chart.
//
// Only complete runs with unbroken seals stand in the chart; the others are named. Runs of other
// modes are left out.
// Assumes: runs by start, as the book gives them.
// Undefined when: fewer than two such runs: no chart. Source of the limits and rules:
// analysis/statistics/trends/control_chart.hpp (NIST/SEMATECH e-Handbook 6.3.2).
#pragma once

#include "analysis/measures/quantity.hpp"
#include "analysis/statistics/trends/control_chart.hpp"
#include "bench/book/entries.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::book {

struct TrendPoint {
    std::string run_id;
    std::string file;
    std::string started;
    std::string calibration;
    Quantity quantity;
};

struct Trend {
    measures::Reported what;
    std::vector<TrendPoint> points;
    std::vector<std::string> left_out;             // sentences, one a run
    std::optional<statistics::ControlChart> chart; // its points are `points`
};

// `runs`: of one unit, with its channels only. The quantity is looked for in every part of the
// audit but the spacings as measured, whose names stand for something else.
[[nodiscard]] Trend trend(const std::vector<Run>& runs, const measures::Reported& what);

// The quantities whose trend is shown where nobody names one: of the mode in which the unit ran
// last.
[[nodiscard]] std::vector<measures::Reported> usual_quantities(const std::vector<Run>& runs);

} // namespace dropledger::book
