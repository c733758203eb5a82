#include "analysis/report/pictures/plot.hpp"

#include "analysis/report/pictures/markup.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::report::pictures {

namespace {

double multiples_inside(const Scale& scale, double step) {
    return std::floor(scale.high / step + 1e-9) - std::ceil(scale.low / step - 1e-9) + 1.0;
}

// The least of 1, 2 or 5 times a power of ten, so that at most `most` of its multiples lie inside.
double round_step(const Scale& scale, int most) {
    double power = std::pow(10.0, std::floor(std::log10((scale.high - scale.low) / most)) - 1.0);
    for (;; power *= 10.0)
        for (const double factor : {1.0, 2.0, 5.0})
            if (multiples_inside(scale, factor * power) <= most)
                return factor * power;
}

std::string tick_label(double value, double step) {
    const int decimals = std::max(0, -static_cast<int>(std::floor(std::log10(step) + 1e-9)));
    std::string text = fmt::format("{:.{}f}", value, decimals);
    if (text.find_first_of("123456789") == std::string::npos)
        return "0";
    constexpr double million = 1e6;
    return std::abs(value) >= million ? fmt::format("{:g} M", value / million) : text;
}

} // namespace

double Scale::percent(double value) const {
    return high > low ? 100.0 * (value - low) / (high - low) : 50.0;
}

double Scale::inside(double value) const {
    return std::clamp(value, low, high);
}

std::vector<Tick> ticks(const Scale& scale, int most) {
    const double range = scale.high - scale.low;
    if (!(range > 0.0) || !std::isfinite(range))
        return {{scale.low, fmt::format("{:g}", scale.low)}};
    const double step = round_step(scale, most);
    std::vector<Tick> found;
    for (double k = std::ceil(scale.low / step - 1e-9); k * step <= scale.high + step * 1e-9;
         k += 1.0)
        found.push_back({k * step, tick_label(k * step, step)});
    return found;
}

std::string coordinate(double value) {
    std::string text = fmt::format("{:.2f}", value);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.ends_with('.'))
        text.pop_back();
    return text == "-0" ? "0" : text;
}

void Plot::box(const Box& box, std::string_view style, std::string_view title) {
    const double left = x_.percent(x_.inside(box.left));
    const double right = x_.percent(x_.inside(box.right));
    const double top = 100.0 - y_.percent(y_.inside(box.top));
    const double bottom = 100.0 - y_.percent(y_.inside(box.bottom));
    body_ += fmt::format(R"(<rect class="{}" x="{}%" y="{}%" width="{}%" height="{}%">)", style,
                         coordinate(left), coordinate(top), coordinate(right - left),
                         coordinate(bottom - top));
    if (!title.empty())
        body_ += element("title", "", escaped(title));
    body_ += "</rect>";
}

void Plot::segment(const Segment& segment, std::string_view style) {
    body_ += fmt::format(R"(<line class="{}" x1="{}%" y1="{}%" x2="{}%" y2="{}%" />)", style,
                         px(segment.x1), py(segment.y1), px(segment.x2), py(segment.y2));
}

void Plot::label(const Label& label, std::string_view text, std::string_view style) {
    body_ += fmt::format(
        R"(<text class="{}" x="{}%" y="{}%" dx="{}" dy="{}" text-anchor="{}">{}</text>)", style,
        px(label.x), py(label.y), label.dx_px, label.dy_px, label.anchor, typeset(text));
}

namespace {

constexpr std::string_view stretched =
    R"(<svg class="in" x="0" y="0" width="100%" height="100%" viewBox="0 0 100 100" )"
    R"(preserveAspectRatio="none"><path class=")";

} // namespace

void Plot::line(const std::vector<Point>& points, std::string_view style) {
    if (points.size() < 2)
        return;
    body_ += fmt::format(R"({}{}" d=")", stretched, style);
    char move = 'M';
    for (const Point& point : points) {
        body_ += fmt::format("{}{} {}", move, px(x_.inside(point.x)), py(y_.inside(point.y)));
        move = 'L';
    }
    body_ += R"(" /></svg>)";
}

void Plot::dots(const std::vector<Point>& points, std::string_view style) {
    body_ += fmt::format(R"({}{}" d=")", stretched, style);
    for (const Point& point : points)
        body_ += fmt::format("M{} {}h0", px(point.x), py(point.y));
    body_ += R"(" /></svg>)";
}

void Plot::symbol(Point at, std::string_view id, std::string_view style, std::string_view title) {
    const std::string attributes = fmt::format(R"(href="#{}" class="{}" x="{}%" y="{}%")", id,
                                               style, px(at.x), py(at.y));
    body_ += title.empty() ? fmt::format("<use {} />", attributes)
                           : element("use", attributes, element("title", "", escaped(title)));
}

void Plot::x_axis(std::string_view title, int most_ticks) {
    segment({x_.low, y_.low, x_.high, y_.low}, "axis");
    for (const Tick& tick : ticks(x_, most_ticks))
        x_tick(tick.value, tick.label);
    label({.x = (x_.low + x_.high) / 2, .y = y_.low, .dy_px = 34}, title, "ttl");
}

void Plot::x_tick(double value, std::string_view text) {
    body_ +=
        fmt::format(R"(<svg class="in" x="{}%" y="{}%"><path class="axis" d="M0 0v5" /></svg>)",
                    px(value), py(y_.low));
    label({.x = value, .y = y_.low, .dy_px = 18}, text);
}

void Plot::y_axis(std::string_view title, int most_ticks) {
    for (const Tick& tick : ticks(y_, most_ticks)) {
        segment({x_.low, tick.value, x_.high, tick.value}, "grid");
        label({.x = x_.low, .y = tick.value, .dx_px = -6, .dy_px = 4, .anchor = "end"}, tick.label);
    }
    label({.x = x_.low, .y = y_.high, .dx_px = -38, .dy_px = -12, .anchor = "start"}, title, "ttl");
}

std::string Plot::markup(std::string_view label, std::string_view style) const {
    return fmt::format(
               R"(<div class="{}"><svg role="img" aria-label="{}" width="100%" height="{}">)",
               style, escaped(label), height_px_) +
           body_ + "</svg></div>\n";
}

} // namespace dropledger::report::pictures
