#include "analysis/report/pictures/portion_chart.hpp"

#include "analysis/report/pictures/plot.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::pictures {

std::string portion_chart(const measures::PortionResult& portion, std::optional<double> limit_mm) {
    const auto& counts = portion.length_distribution;
    if (counts.empty())
        return "";
    const double width = mm_of(measures::PortionResult::length_class_um);
    const double longest = width * static_cast<double>(counts.size());
    const auto most = static_cast<double>(*std::max_element(counts.begin(), counts.end()));
    Plot plot({0, std::max(longest, 1.15 * limit_mm.value_or(0.0))}, {0, 1.08 * most}, 170);
    plot.y_axis("portions", 4);
    for (std::size_t i = 0; i < counts.size(); ++i) {
        const double left = width * static_cast<double>(i);
        plot.box({left + 0.08 * width, left + 0.92 * width, 0, static_cast<double>(counts[i])},
                 "bar one", fmt::format("{:g} to {:g} mm: {}", left, left + width, counts[i]));
    }
    const auto mark = [&](double x, std::string_view style, std::string_view name) {
        plot.segment({x, 0, x, plot.y().high}, style);
        plot.label({.x = x, .y = plot.y().high, .dy_px = -5}, name);
    };
    if (portion.spread_mm)
        mark(portion.spread_mm->value, "edge", "mean");
    if (limit_mm)
        mark(*limit_mm, "limit", "limit of the mean");
    plot.x_axis("length in mm", 6);
    return plot.markup("Lengths of the portions");
}

} // namespace dropledger::report::pictures
