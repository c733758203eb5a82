#include "bench/cli/chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::cli {

namespace {

constexpr double width = 720.0;
constexpr double height = 400.0;
constexpr double left = 78.0;
constexpr double right = 20.0;
constexpr double top = 20.0;
constexpr double bottom = 58.0;

// Okabe-Ito: blue, vermilion, bluish green.
constexpr std::array<const char*, 3> colours{"#0072B2", "#D55E00", "#009E73"};

struct Range {
    double low = 0.0;
    double high = 1.0;
    double step = 0.1;
};

// From 0 to a round number at or above `most`, in about six round steps.
Range round_range(double most) {
    const double rough = std::max(most, 1e-12) / 6.0;
    const double decade = std::pow(10.0, std::floor(std::log10(rough)));
    double step = 10.0 * decade;
    for (const double factor : {1.0, 2.0, 5.0})
        if (rough <= factor * decade) {
            step = factor * decade;
            break;
        }
    return {.low = 0.0, .high = step * std::ceil(most / step - 1e-9), .step = step};
}

class Frame {
public:
    explicit Frame(const Chart& chart) {
        double most_x = 0.0;
        double most_y = 0.0;
        for (const ChartLine& line : chart.lines)
            for (const ChartPoint& point : line.points) {
                most_x = std::max(most_x, point.x);
                most_y = std::max(most_y, point.y);
            }
        x_ = round_range(most_x);
        y_ = round_range(most_y);
    }
    [[nodiscard]] const Range& x() const { return x_; }
    [[nodiscard]] const Range& y() const { return y_; }
    [[nodiscard]] double place_x(double x) const {
        return left + (width - left - right) * x / x_.high;
    }
    [[nodiscard]] double place_y(double y) const {
        return height - bottom - (height - top - bottom) * y / y_.high;
    }

private:
    Range x_;
    Range y_;
};

std::string tick_text(double value, const Axis& axis) {
    return axis.percent ? fmt::format("{:.4g} %", 100.0 * value) : fmt::format("{:.6g}", value);
}

const char* dashes(Stroke stroke) {
    switch (stroke) {
    case Stroke::dashed:
        return " stroke-dasharray=\"9 5\"";
    case Stroke::dotted:
        return " stroke-dasharray=\"2 4\"";
    case Stroke::solid:
        break;
    }
    return "";
}

std::string ticks(const Chart& chart, const Frame& frame) {
    std::string out;
    const double floor = height - bottom;
    for (int i = 0; i * frame.x().step <= frame.x().high * (1.0 + 1e-9); ++i) {
        const double at = frame.place_x(i * frame.x().step);
        out += fmt::format(
            "<line class=\"grid\" x1=\"{0:.1f}\" y1=\"{1:.1f}\" x2=\"{0:.1f}\" y2=\"{2:.1f}\"/>"
            "<text x=\"{0:.1f}\" y=\"{3:.1f}\" text-anchor=\"middle\">{4}</text>\n",
            at, top, floor, floor + 18.0, tick_text(i * frame.x().step, chart.x));
    }
    for (int i = 0; i * frame.y().step <= frame.y().high * (1.0 + 1e-9); ++i) {
        const double at = frame.place_y(i * frame.y().step);
        out += fmt::format(
            "<line class=\"grid\" x1=\"{1:.1f}\" y1=\"{0:.1f}\" x2=\"{2:.1f}\" y2=\"{0:.1f}\"/>"
            "<text x=\"{3:.1f}\" y=\"{4:.1f}\" text-anchor=\"end\">{5}</text>\n",
            at, left, width - right, left - 8.0, at + 4.0, tick_text(i * frame.y().step, chart.y));
    }
    return out;
}

std::string axis_names(const Chart& chart) {
    const double middle_y = top + (height - top - bottom) / 2.0;
    return fmt::format(
        "<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"middle\">{}</text>\n"
        "<text transform=\"translate(16 {:.1f}) rotate(-90)\" text-anchor=\"middle\">{}</text>\n",
        left + (width - left - right) / 2.0, height - 18.0, escaped(chart.x.name), middle_y,
        escaped(chart.y.name));
}

std::string path(const ChartLine& line, const Frame& frame, const char* colour) {
    std::string points;
    for (const ChartPoint& point : line.points)
        points += fmt::format("{:.1f},{:.1f} ", frame.place_x(point.x), frame.place_y(point.y));
    return fmt::format(
        "<polyline fill=\"none\" stroke=\"{}\" stroke-width=\"2.5\"{} points=\"{}\"/>\n", colour,
        dashes(line.stroke), points);
}

std::string rings(const Chart& chart, const Frame& frame) {
    std::string out;
    for (const ChartPoint& mark : chart.marks)
        out +=
            fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"6\" fill=\"none\" stroke=\"#000\" "
                        "stroke-width=\"2\"/>\n",
                        frame.place_x(mark.x), frame.place_y(mark.y));
    return out;
}

std::string legend_entry(const std::string& sample, const std::string& name) {
    return "<li><svg width=\"44\" height=\"14\" aria-hidden=\"true\">" + sample + "</svg> " +
           escaped(name) + "</li>";
}

std::string legend(const Chart& chart) {
    std::string out = "<ul class=\"legend\">";
    for (std::size_t i = 0; i < chart.lines.size(); ++i)
        out += legend_entry(fmt::format("<line x1=\"2\" y1=\"7\" x2=\"42\" y2=\"7\" stroke=\"{}\" "
                                        "stroke-width=\"2.5\"{}/>",
                                        colours.at(i), dashes(chart.lines[i].stroke)),
                            chart.lines[i].name);
    if (!chart.marks.empty())
        out += legend_entry("<circle cx=\"22\" cy=\"7\" r=\"5\" fill=\"none\" stroke=\"#000\" "
                            "stroke-width=\"2\"/>",
                            chart.marks_name);
    return out + "</ul>\n";
}

} // namespace

std::string escaped(const std::string& text) {
    std::string out;
    for (const char c : text) {
        switch (c) {
        case '&':
            out += "&amp;";
            break;
        case '<':
            out += "&lt;";
            break;
        case '>':
            out += "&gt;";
            break;
        case '"':
            out += "&quot;";
            break;
        default:
            out += c;
        }
    }
    return out;
}

std::string svg(const Chart& chart) {
    const Frame frame{chart};
    std::string out = fmt::format(
        "<figure><figcaption>{0}</figcaption>\n<svg viewBox=\"0 0 {1:.0f} {2:.0f}\" role=\"img\" "
        "aria-label=\"{3}\">\n<title>{0}</title><desc>{3}</desc>\n",
        escaped(chart.title), width, height, escaped(chart.description));
    out += ticks(chart, frame) + axis_names(chart);
    for (std::size_t i = 0; i < chart.lines.size(); ++i)
        out += path(chart.lines[i], frame, colours.at(i));
    return out + rings(chart, frame) + "</svg>\n" + legend(chart) + "<p>" +
           escaped(chart.description) + "</p></figure>\n";
}

} // namespace dropledger::cli
