#include "analysis/report/pictures/function_chart.hpp"

#include "analysis/report/pictures/markup.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::pictures {

namespace {

double factor(const Axis& axis) {
    return axis.percent ? 100.0 : 1.0;
}

std::string title_of(const Axis& axis) {
    return axis.percent ? axis.name + ", %" : axis.name;
}

std::string_view style_of(Stroke stroke) {
    switch (stroke) {
    case Stroke::solid:
        return "curve";
    case Stroke::dashed:
        return "curve dashed";
    case Stroke::dotted:
        return "curve dotted";
    }
    return "curve";
}

// From 0 to a little above the most; a chance ends at 100 %.
Scale scale_of(const FunctionChart& chart, const Axis& axis, double Point::*coordinate) {
    double most = 0.0;
    for (const Curve& curve : chart.curves)
        for (const Point& point : curve.points)
            most = std::max(most, point.*coordinate);
    const bool whole = axis.percent && most > 0.9 && most <= 1.0;
    return {0.0, factor(axis) * (whole ? 1.0 : std::max(most, 1e-9) * 1.02)};
}

std::vector<Point> scaled(const std::vector<Point>& points, const FunctionChart& chart) {
    std::vector<Point> out;
    out.reserve(points.size());
    for (const Point& point : points)
        out.push_back({factor(chart.x) * point.x, factor(chart.y) * point.y});
    return out;
}

std::string key(const std::string& sample, const std::string& name) {
    return element("span", "class=\"key\"",
                   element("svg", "width=\"44\" height=\"14\" aria-hidden=\"true\"", sample) +
                       escaped(name)) +
           "\n";
}

std::string keys(const FunctionChart& chart) {
    std::string items = "\n";
    for (const Curve& curve : chart.curves)
        items += key(fmt::format("<path class=\"{}\" d=\"M2 7h40\" />", style_of(curve.stroke)),
                     curve.name);
    if (!chart.marks.empty())
        items += key(R"(<use href="#expected" class="expected" x="22" y="7" />)", chart.marks_name);
    return element("p", "class=\"keys\"", items) + "\n";
}

} // namespace

std::string function_chart(const FunctionChart& chart) {
    Plot plot(scale_of(chart, chart.x, &Point::x), scale_of(chart, chart.y, &Point::y), 260);
    plot.y_axis(title_of(chart.y), 6);
    for (const Curve& curve : chart.curves)
        plot.line(scaled(curve.points, chart), style_of(curve.stroke));
    for (const Point& mark : scaled(chart.marks, chart))
        plot.symbol(mark, "expected", "expected");
    plot.x_axis(title_of(chart.x), 8);
    return element("h3", "", escaped(chart.title)) + "\n" + plot.markup(chart.description) +
           keys(chart) + element("p", "", typeset(chart.description)) + "\n";
}

} // namespace dropledger::report::pictures
