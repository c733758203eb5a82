#include "analysis/report/pictures/line_chart.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/pictures/plot.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::pictures {

namespace {

constexpr std::size_t most_points = 200;

// Several points of the line in one, so that the picture shows course and not grass.
std::vector<double> averaged(const std::vector<double>& values, std::size_t per_point) {
    std::vector<double> means;
    for (std::size_t at = 0; at + per_point <= values.size(); at += per_point) {
        double sum = 0.0;
        for (std::size_t i = at; i < at + per_point; ++i)
            sum += values[i];
        means.push_back(sum / static_cast<double>(per_point));
    }
    return means;
}

// A stair: every point holds over its own stretch.
std::vector<Point> stair(const std::vector<double>& values, double width) {
    std::vector<Point> points;
    for (std::size_t i = 0; i < values.size(); ++i) {
        points.push_back({static_cast<double>(i) * width, values[i]});
        points.push_back({static_cast<double>(i + 1) * width, values[i]});
    }
    return points;
}

} // namespace

std::string line_chart(const measures::LineResult& line, std::optional<double> target_per_m) {
    const std::size_t per_point = (line.per_m_along.size() + most_points - 1) / most_points;
    if (line.per_m_along.size() < 2)
        return "";
    const std::vector<double> values = averaged(line.per_m_along, per_point);
    const double width = line.metres_per_point * static_cast<double>(per_point);
    const double most =
        std::max(*std::max_element(values.begin(), values.end()), target_per_m.value_or(0.0));
    Plot plot({0, width * static_cast<double>(values.size())}, {0, 1.12 * std::max(most, 1e-6)},
              200);
    plot.y_axis("seeds per metre", 5);
    plot.line(stair(values, width), "stair");
    if (line.mean_per_m)
        plot.segment({0, line.mean_per_m->value, plot.x().high, line.mean_per_m->value}, "bias");
    if (target_per_m)
        plot.segment({0, *target_per_m, plot.x().high, *target_per_m}, "median");
    plot.x_axis("metres along the line", 6);
    const std::string words = fmt::format(
        "Each step is {:.3g} m of the line. Dashed: mean.{}", width,
        target_per_m ? fmt::format(" Solid: target, {:g} per metre.", *target_per_m) : "");
    return plot.markup("Seeds per metre along the line") +
           element("p", "class=\"cap\"", escaped(words));
}

} // namespace dropledger::report::pictures
