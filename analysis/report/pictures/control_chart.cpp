#include "analysis/report/pictures/control_chart.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/pictures/plot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::pictures {

namespace {

using statistics::ChartPoint;
using statistics::ControlChart;
using statistics::ControlSignal;

double place(std::size_t index) {
    return static_cast<double>(index + 1);
}

Scale value_scale(const ControlChart& chart, const ControlWords& words) {
    const double factor = words.factor;
    Scale scale{chart.centre, chart.centre};
    const auto widen = [&](double value) {
        scale.low = std::min(scale.low, value);
        scale.high = std::max(scale.high, value);
    };
    for (const ChartPoint& point : chart.points) {
        widen(point.value);
        widen(point.lower.value_or(point.value));
        widen(point.upper.value_or(point.value));
    }
    for (const double limit : words.limits)
        widen(limit);
    const double room =
        scale.high > scale.low ? 0.12 * (scale.high - scale.low) : std::abs(chart.centre) + 1e-3;
    const double floor = scale.low >= 0.0 ? 0.0 : scale.low - room;
    return {factor * std::max(floor, scale.low - room), factor * (scale.high + room)};
}

// A limit that steps where the points' own sigmas differ.
void draw_limit(Plot& plot, const ControlChart& chart, double factor,
                std::optional<double> ChartPoint::*limit, std::string_view name) {
    std::vector<Point> stair;
    for (std::size_t i = 0; i < chart.points.size(); ++i) {
        const auto& value = chart.points[i].*limit;
        if (!value)
            continue;
        stair.push_back({place(i) - 0.5, factor * *value});
        stair.push_back({place(i) + 0.5, factor * *value});
    }
    if (stair.empty())
        return;
    const bool to_the_end = (chart.points.back().*limit).has_value();
    if (to_the_end)
        stair.push_back({plot.x().high, stair.back().y});
    plot.line(stair, "edge");
    if (to_the_end && !name.empty())
        plot.label(
            {.x = plot.x().high, .y = stair.back().y, .dx_px = -4, .dy_px = -5, .anchor = "end"},
            name);
}

bool is_narrow(const ControlChart& chart, const ControlWords& words, const Scale& scale) {
    constexpr double readable = 0.07; // of the height, from one name to the next
    return words.factor * 3.0 * chart.sigma < readable * (scale.high - scale.low);
}

std::string letter(std::size_t index) {
    const std::string one(1, static_cast<char>('A' + index % 26));
    return index < 26 ? one : one + std::to_string(index / 26);
}

std::string name_of(const std::vector<std::string>& names, std::size_t index) {
    return index < names.size() ? names[index] : std::string();
}

struct Marks {
    std::vector<bool> signalled;
    std::vector<std::string> letters; // at the last value of each signal
};

Marks marks_of(const ControlChart& chart) {
    Marks marks{std::vector<bool>(chart.points.size()),
                std::vector<std::string>(chart.points.size())};
    for (std::size_t s = 0; s < chart.signals.size(); ++s) {
        const ControlSignal& signal = chart.signals[s];
        for (std::size_t i = signal.first; i <= signal.last; ++i)
            marks.signalled[i] = true;
        marks.letters[signal.last] += (marks.letters[signal.last].empty() ? "" : " ") + letter(s);
    }
    return marks;
}

void draw_points(Plot& plot, const ControlChart& chart, const ControlWords& words) {
    std::vector<Point> line;
    for (std::size_t i = 0; i < chart.points.size(); ++i)
        line.push_back({place(i), words.factor * chart.points[i].value});
    plot.line(line, "stair");
    const Marks marks = marks_of(chart);
    for (std::size_t i = 0; i < line.size(); ++i) {
        const std::string name = name_of(words.names, i);
        const std::string title =
            fmt::format("Value {}{}{}: {:.4g}", i + 1, name.empty() ? "" : ", ", name, line[i].y);
        if (marks.signalled[i])
            plot.symbol(line[i], "mark-outside", "outside", title);
        else
            plot.symbol(line[i], "expected", "expected", title);
        if (!marks.letters[i].empty())
            plot.label({.x = line[i].x, .y = line[i].y, .dy_px = -11}, marks.letters[i]);
    }
}

void draw_tolerance(Plot& plot, const ControlWords& words) {
    for (const double limit : words.limits) {
        const double y = words.factor * limit;
        plot.segment({plot.x().low, y, plot.x().high, y}, "limit");
        plot.label({.x = plot.x().low, .y = y, .dx_px = 4, .dy_px = -5, .anchor = "start"},
                   "tolerance");
    }
}

void draw_repairs(Plot& plot, const ControlWords& words) {
    for (const auto& [index, text] : words.repairs) {
        const double x = place(index) - 0.5;
        plot.segment({x, plot.y().low, x, plot.y().high}, "edge");
        plot.label({.x = x, .y = plot.y().high, .dx_px = 4, .dy_px = 10, .anchor = "start"}, text);
    }
}

// Whole numbers only: a value has no half.
void draw_numbers(Plot& plot, std::size_t count, std::string_view title) {
    plot.segment({plot.x().low, plot.y().low, plot.x().high, plot.y().low}, "axis");
    const std::size_t step = (count + 11) / 12;
    for (std::size_t i = 0; i < count; i += step)
        plot.x_tick(place(i), std::to_string(i + 1));
    plot.label({.x = (plot.x().low + plot.x().high) / 2, .y = plot.y().low, .dy_px = 34}, title,
               "ttl");
}

std::string bullets(const std::vector<std::string>& sentences) {
    std::string items;
    for (const std::string& sentence : sentences)
        items += element("li", "", typeset(sentence));
    return element("ul", "", items) + "\n";
}

} // namespace

std::vector<std::string> control_sentences(const ControlChart& chart,
                                           const std::vector<std::string>& names) {
    std::vector<std::string> sentences;
    for (std::size_t s = 0; s < chart.signals.size(); ++s) {
        const ControlSignal& signal = chart.signals[s];
        std::string who = name_of(names, signal.first);
        if (!who.empty() && signal.last != signal.first)
            who += " to " + name_of(names, signal.last);
        sentences.push_back(fmt::format("{}: {}{}", letter(s), signal.sentence,
                                        who.empty() ? "" : " (" + who + ")"));
    }
    if (chart.signals.empty())
        sentences.emplace_back("No signal: nothing goes beyond the usual spread from value to value.");
    if (chart.provisional())
        sentences.push_back(fmt::format("The usual range rests on {} values; below 20 it is "
                                        "itself uncertain.",
                                        chart.rests_on));
    return sentences;
}

std::string control_chart(const ControlChart& chart, const ControlWords& words) {
    // Room at the right for the names of the lines.
    const double end = 1.14 * static_cast<double>(chart.points.size()) + 0.5;
    Plot plot({0.5, end}, value_scale(chart, words), 240);
    plot.y_axis(words.what, 5);
    const double centre = words.factor * chart.centre;
    const double from = place(chart.points.size() - chart.rests_on) - 0.5;
    plot.segment({from, centre, end, centre}, "median");
    // Names that would lie on each other become one.
    const bool narrow = is_narrow(chart, words, plot.y());
    if (!narrow)
        plot.label({.x = end, .y = centre, .dx_px = -4, .dy_px = -5, .anchor = "end"}, "centre");
    draw_limit(plot, chart, words.factor, &ChartPoint::upper,
               narrow ? "usual range" : "usual at most");
    draw_limit(plot, chart, words.factor, &ChartPoint::lower, narrow ? "" : "usual at least");
    draw_tolerance(plot, words);
    draw_repairs(plot, words);
    draw_points(plot, chart, words);
    draw_numbers(plot, chart.points.size(), words.of_time);
    const std::string key =
        fmt::format("Solid: centre, {:.4g}. Dotted: the usual range, 3 standard deviations either "
                    "way.{} A filled square belongs to a signal; its letter stands at the signal's "
                    "last value.",
                    centre, words.limits.empty() ? "" : " Thick: the tolerance.");
    return plot.markup(fmt::format("{} over {}, with the usual range", words.what, words.of_time)) +
           element("p", "class=\"cap\"", typeset(key)) + "\n" +
           bullets(control_sentences(chart, words.names));
}

} // namespace dropledger::report::pictures
