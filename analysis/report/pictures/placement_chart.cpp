#include "analysis/report/pictures/placement_chart.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/pictures/plot.hpp"
#include "analysis/report/words/wording.hpp"
#include "analysis/statistics/basics/quantile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::pictures {

namespace {

using measures::TracePoint;
using statistics::value_at_share;

constexpr std::size_t most_dots = 4000;
constexpr std::size_t ranges = 200;
constexpr std::size_t median_window = 51;

struct Error {
    double index = 0.0;
    double mean_mm = 0.0;
    double least_mm = 0.0;
    double greatest_mm = 0.0;
};

// The trace counts in the direction of travel, the result in the log's own coordinates.
std::vector<Error> errors_of(const measures::Trace& trace, double sign) {
    std::vector<Error> errors;
    for (const TracePoint& point : trace.points()) {
        if (point.landed == 0)
            continue;
        const double a = sign * static_cast<double>(point.error_least_um) / 1000.0;
        const double b = sign * static_cast<double>(point.error_greatest_um) / 1000.0;
        errors.push_back({point.first_index + (point.drops - 1) / 2.0,
                          sign * static_cast<double>(point.error_sum_um) / point.landed / 1000.0,
                          std::min(a, b), std::max(a, b)});
    }
    return errors;
}

// Holds nearly all errors and zero; a few far ones must not flatten the rest, nor must a wide
// allowance.
Scale scale_of(const std::vector<Error>& errors, std::optional<std::int64_t> allowance_um) {
    std::vector<double> least;
    std::vector<double> greatest;
    for (const Error& error : errors) {
        least.push_back(error.least_mm);
        greatest.push_back(error.greatest_mm);
    }
    double low = std::min(0.0, value_at_share(least, Share{0.005}));
    double high = std::max(0.0, value_at_share(greatest, Share{0.995}));
    const double allowance_mm = static_cast<double>(allowance_um.value_or(0)) / 1000.0;
    if (allowance_mm < 3.0 * std::max(-low, high)) {
        low = std::min(low, -allowance_mm);
        high = std::max(high, allowance_mm);
    }
    const double margin = std::max(0.15 * (high - low), 0.05);
    return {low - margin, high + margin};
}

std::vector<Point> rolling_median(const std::vector<Error>& errors) {
    const std::size_t step = std::max<std::size_t>(1, errors.size() / 300);
    std::vector<Point> median;
    for (std::size_t at = 0; at < errors.size(); at += step) {
        const std::size_t window_size = std::min(median_window, errors.size());
        const std::size_t from =
            std::min(at < window_size / 2 ? 0 : at - window_size / 2, errors.size() - window_size);
        std::vector<double> window;
        for (std::size_t i = from; i < from + window_size; ++i)
            window.push_back(errors[i].mean_mm);
        median.push_back({errors[at].index, value_at_share(window, Share{0.5})});
    }
    return median;
}

// Draws what lies in the picture; the number that does not is marked at its edge and returned.
std::size_t draw_dots(Plot& plot, const std::vector<Error>& errors) {
    std::vector<Point> inside;
    std::vector<Point> beyond;
    for (const Error& error : errors) {
        const bool shown = plot.y().inside(error.mean_mm) == error.mean_mm;
        (shown ? inside : beyond).push_back({error.index, plot.y().inside(error.mean_mm)});
    }
    plot.dots(inside, "dot");
    for (const Point& point : beyond)
        plot.symbol(point, point.y > 0 ? "beyond-up" : "beyond-down", "beyond");
    return beyond.size();
}

std::size_t draw_ranges(Plot& plot, const std::vector<Error>& errors) {
    const std::size_t step = (errors.size() + ranges - 1) / ranges;
    std::size_t beyond = 0;
    for (std::size_t at = 0; at < errors.size(); at += step) {
        Error range = errors[at];
        for (std::size_t i = at; i < std::min(errors.size(), at + step); ++i) {
            range.least_mm = std::min(range.least_mm, errors[i].least_mm);
            range.greatest_mm = std::max(range.greatest_mm, errors[i].greatest_mm);
        }
        const bool cut = plot.y().inside(range.least_mm) != range.least_mm ||
                         plot.y().inside(range.greatest_mm) != range.greatest_mm;
        beyond += cut ? 1 : 0;
        plot.segment({range.index, plot.y().inside(range.least_mm), range.index,
                      plot.y().inside(range.greatest_mm)},
                     "range");
    }
    return beyond;
}

std::string allowance_words(std::optional<std::int64_t> allowance_um, const Scale& y) {
    if (!allowance_um)
        return "";
    const double mm = static_cast<double>(*allowance_um) / 1000.0;
    if (y.inside(mm) == mm || y.inside(-mm) == -mm)
        return fmt::format(" Hatched: outside the allowance of +/-{}.",
                           length_words(*allowance_um));
    return fmt::format(" The allowance of +/-{} lies beyond the picture.",
                       length_words(*allowance_um));
}

std::string caption(bool dotted, std::size_t beyond, const std::string& allowance) {
    std::string text = dotted ? "Each dot is one drop with seed (of several seeds: their centroid)."
                              : "Each stroke spans the errors of several drops.";
    text += fmt::format(" Solid line: median over {} neighbouring points. Dashed: bias.{}",
                        median_window, allowance);
    if (beyond > 0)
        text += fmt::format(" {} {} beyond the picture{}.", beyond, beyond == 1 ? "lies" : "lie",
                            dotted ? ", marked by triangles at its edge" : "");
    return element("p", "class=\"cap\"", escaped(text));
}

} // namespace

std::string placement_chart(const measures::Trace& trace,
                            const measures::PlacementResult& placement,
                            std::optional<std::int64_t> allowance_um) {
    const std::vector<Error> errors = errors_of(trace, placement.direction);
    if (errors.empty())
        return "";
    const Scale y = scale_of(errors, allowance_um);
    Plot plot({errors.front().index - 1, errors.back().index + 1}, y, 230);
    if (allowance_um) {
        const double mm = static_cast<double>(*allowance_um) / 1000.0;
        plot.box({plot.x().low, plot.x().high, mm, y.high}, "forbidden");
        plot.box({plot.x().low, plot.x().high, y.low, -mm}, "forbidden");
    }
    plot.y_axis("landing minus commanded, mm", 5);
    plot.segment({plot.x().low, 0, plot.x().high, 0}, "axis");
    const bool dotted = trace.drops_per_point() == 1 && errors.size() <= most_dots;
    const std::size_t beyond = dotted ? draw_dots(plot, errors) : draw_ranges(plot, errors);
    if (placement.bias_mm)
        plot.segment(
            {plot.x().low, placement.bias_mm->value, plot.x().high, placement.bias_mm->value},
            "bias");
    plot.line(rolling_median(errors), "median");
    plot.x_axis("commanded drop", 6);
    return plot.markup("Placement error along the run") +
           caption(dotted, beyond, allowance_words(allowance_um, y));
}

} // namespace dropledger::report::pictures
