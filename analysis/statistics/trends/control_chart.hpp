// Control charts of single values: has a level moved, or is this the usual spread?
//
// Assumes: values in order of time; for the rules' usual false-alarm rates independent and nearly
// normal. Sigma comes from neighbours' differences, not from the spread of all values, so that a
// shift inside the data does not hide itself.
// Units: the values' own.
// Undefined when: fewer than two values: std::nullopt. With no spread at all sigma is 0, the
// limits meet on the centre and nothing signals.
// Source: NIST/SEMATECH e-Handbook 6.3.2.2 (individuals: d2 printed as 1.128, here exact, D4 =
// 3.267; from memory).
#pragma once

#include "analysis/statistics/basics/natural_range.hpp"
#include "analysis/statistics/trends/control_rules.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace dropledger::statistics {

struct ChartPoint {
    double value = 0.0;
    double sigma = 0.0;          // this point's own: differs between points only for shares
    std::optional<double> lower; // centre - 3 sigma; none where the quantity can't go so low
    std::optional<double> upper;
    std::optional<double> moving_range; // to the value before; none for the first
};

struct ControlChart {
    double centre = 0.0;
    double sigma = 0.0; // of an individuals chart; of a share chart the factor on the binomial one
    double mean_moving_range = 0.0;
    double moving_range_limit = 0.0; // D4 times the mean
    std::vector<ChartPoint> points;
    std::vector<ControlSignal> signals;

    // The limits at the end rest on so many values: fewer than there are points where the level was
    // set anew.
    std::size_t rests_on = 0;

    // Limits from so few values are themselves uncertain: a chart to begin with.
    [[nodiscard]] bool provisional() const { return rests_on < 20; }
};

[[nodiscard]] std::optional<ControlChart> individuals_chart(std::span<const double> values,
                                                            NaturalRange range = {});

// A level set anew before each of `starts` (indices, ascending): each stretch has limits and signals
// of its own, centre and sigma are the last one's. A stretch of one value has no limits.
// Undefined when: no stretch has two values: std::nullopt.
[[nodiscard]] std::optional<ControlChart> chart_by_stretches(std::span<const double> values,
                                                             std::span<const std::size_t> starts,
                                                             NaturalRange range = {});

} // namespace dropledger::statistics
