#include "analysis/statistics/trends/control_chart.hpp"

#include "analysis/statistics/basics/moments.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dropledger::statistics {

namespace {

// Moving ranges of two: mean range of two normal values in sigma, 2/sqrt(pi) exactly (tables print
// 1.128), and the upper limit's factor.
constexpr double d2 = 2.0 * std::numbers::inv_sqrtpi;
constexpr double upper_range_factor = 3.267; // D4, as printed

ChartPoint point_of(double value, double sigma) {
    ChartPoint point;
    point.value = value;
    point.sigma = sigma;
    return point;
}

std::vector<double> moving_ranges(std::span<const double> values) {
    std::vector<double> ranges;
    for (std::size_t i = 1; i < values.size(); ++i)
        ranges.push_back(std::abs(values[i] - values[i - 1]));
    return ranges;
}

void set_limits(ChartPoint& point, double centre, NaturalRange range) {
    const double lower = centre - 3.0 * point.sigma;
    const double upper = centre + 3.0 * point.sigma;
    if (!range.least || lower > *range.least)
        point.lower = lower;
    if (!range.most || upper < *range.most)
        point.upper = upper;
}

void enter_ranges(ControlChart& chart, std::span<const double> ranges) {
    chart.mean_moving_range = mean(ranges).value();
    chart.moving_range_limit = upper_range_factor * chart.mean_moving_range;
    for (std::size_t i = 0; i < ranges.size(); ++i)
        chart.points[i + 1].moving_range = ranges[i];
}

void add_wide_ranges(ControlChart& chart, std::size_t before) {
    for (std::size_t i = 1; i < chart.points.size(); ++i)
        if (*chart.points[i].moving_range > chart.moving_range_limit)
            chart.signals.push_back(
                {ControlRule::wide_moving_range, i - 1, i,
                 fmt::format("Values {} and {} differ by more than neighbours usually do.",
                             before + i, before + i + 1)});
    std::stable_sort(
        chart.signals.begin(), chart.signals.end(),
        [](const ControlSignal& a, const ControlSignal& b) { return a.first < b.first; });
}

// Sigmas and limits stand; what is left are the rules.
void find_signals(ControlChart& chart, std::size_t before) {
    std::vector<double> z;
    for (const ChartPoint& point : chart.points) {
        if (point.sigma <= 0.0)
            return;
        z.push_back((point.value - chart.centre) / point.sigma);
    }
    chart.signals = control_signals(z, before);
    add_wide_ranges(chart, before);
}

// Of one level; `before`: so many values of other levels stand before it.
std::optional<ControlChart> level_chart(std::span<const double> values, std::size_t before,
                                        NaturalRange range) {
    if (values.size() < 2)
        return std::nullopt;
    ControlChart chart;
    chart.rests_on = values.size();
    chart.centre = mean(values).value();
    for (const double value : values)
        chart.points.push_back(point_of(value, 0.0));
    enter_ranges(chart, moving_ranges(values));
    chart.sigma = chart.mean_moving_range / d2;
    for (ChartPoint& point : chart.points) {
        point.sigma = chart.sigma;
        set_limits(point, chart.centre, range);
    }
    find_signals(chart, before);
    return chart;
}

// A stretch behind the others, with limits of its own.
void append(ControlChart& chart, std::span<const double> values, NaturalRange range) {
    const std::size_t before = chart.points.size();
    auto level = level_chart(values, before, range);
    if (!level) {
        level.emplace();
        level->centre = values.front();
        level->rests_on = values.size();
        level->points.push_back(point_of(values.front(), 0.0));
    }
    for (ControlSignal signal : level->signals) {
        signal.first += before;
        signal.last += before;
        chart.signals.push_back(std::move(signal));
    }
    chart.points.insert(chart.points.end(), level->points.begin(), level->points.end());
    chart.centre = level->centre;
    chart.sigma = level->sigma;
    chart.mean_moving_range = level->mean_moving_range;
    chart.moving_range_limit = level->moving_range_limit;
    chart.rests_on = level->rests_on;
}

} // namespace

std::optional<ControlChart> individuals_chart(std::span<const double> values, NaturalRange range) {
    return level_chart(values, 0, range);
}

std::optional<ControlChart> chart_by_stretches(std::span<const double> values,
                                               std::span<const std::size_t> starts,
                                               NaturalRange range) {
    ControlChart chart;
    std::size_t from = 0;
    bool any = false;
    const auto take = [&](std::size_t to) {
        if (to <= from)
            return;
        any = any || to - from > 1;
        append(chart, values.subspan(from, to - from), range);
        from = to;
    };
    for (const std::size_t start : starts)
        take(std::min(start, values.size()));
    take(values.size());
    return any ? std::optional{std::move(chart)} : std::nullopt;
}

} // namespace dropledger::statistics
