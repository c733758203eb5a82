#include "analysis/report/pictures/count_chart.hpp"

#include "analysis/report/pictures/plot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace dropledger::report::pictures {

namespace {

std::vector<double> poisson_expected(double mean, std::size_t size, double total) {
    std::vector<double> expected;
    for (std::size_t k = 0; k < size; ++k)
        expected.push_back(total *
                           std::exp(static_cast<double>(k) * std::log(std::max(mean, 1e-12)) -
                                    mean - std::lgamma(static_cast<double>(k) + 1.0)));
    return expected;
}

std::string_view style_of(std::size_t count, const std::optional<std::uint32_t>& target) {
    if (!target || count == *target)
        return "bar one";
    return count < *target ? "bar few" : "bar many";
}

std::size_t shown_counts(const CountChart& chart) {
    const std::size_t target = chart.target ? *chart.target + 2 : 0;
    const std::size_t poisson =
        chart.poisson_mean
            ? static_cast<std::size_t>(*chart.poisson_mean + 3.0 * std::sqrt(*chart.poisson_mean)) +
                  2
            : 0;
    return std::max({chart.counts.size(), target, poisson, std::size_t{3}});
}

void draw_ticks(Plot& plot, std::size_t shown) {
    const std::size_t step = std::max<std::size_t>(1, (shown + 11) / 12);
    for (std::size_t k = 0; k < shown; k += step)
        plot.x_tick(static_cast<double>(k), fmt::format("{}", k));
}

} // namespace

std::string count_chart(const CountChart& chart) {
    const std::size_t shown = shown_counts(chart);
    const auto total = static_cast<double>(
        std::accumulate(chart.counts.begin(), chart.counts.end(), std::int64_t{0}));
    const std::vector<double> expected = chart.poisson_mean
                                             ? poisson_expected(*chart.poisson_mean, shown, total)
                                             : std::vector<double>{};
    double most = 1.0;
    for (const std::int64_t count : chart.counts)
        most = std::max(most, static_cast<double>(count));
    for (const double count : expected)
        most = std::max(most, count);
    Plot plot({-0.6, static_cast<double>(shown) - 0.4}, {0, 1.08 * most}, 190);
    plot.y_axis("", 4);
    for (std::size_t k = 0; k < chart.counts.size(); ++k)
        plot.box({static_cast<double>(k) - 0.38, static_cast<double>(k) + 0.38, 0,
                  static_cast<double>(chart.counts[k])},
                 style_of(k, chart.target), fmt::format("{} seeds: {}", k, chart.counts[k]));
    for (std::size_t k = 0; k < expected.size(); ++k)
        plot.symbol({static_cast<double>(k), expected[k]}, "expected", "expected");
    if (chart.target) {
        const auto target = static_cast<double>(*chart.target);
        const double reached = *chart.target < chart.counts.size()
                                   ? static_cast<double>(chart.counts[*chart.target])
                                   : 0.0;
        plot.segment({target, reached, target, plot.y().high}, "edge");
        plot.label({.x = target, .y = plot.y().high, .dy_px = -5}, "target");
    }
    plot.segment({plot.x().low, 0, plot.x().high, 0}, "axis");
    draw_ticks(plot, shown);
    plot.label({.x = (plot.x().low + plot.x().high) / 2, .y = 0, .dy_px = 34}, chart.x_title,
               "ttl");
    return plot.markup("Distribution of counts: " + chart.x_title);
}

} // namespace dropledger::report::pictures
