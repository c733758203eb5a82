#include "analysis/report/pictures/spacing_histogram.hpp"

#include "analysis/report/pictures/plot.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace dropledger::report::pictures {

namespace {

constexpr double class_width = 0.1;     // of x_ref
constexpr std::size_t least_shown = 42; // classes
constexpr std::array<double, 4> edges{0.5, 1.5, 2.5, 3.5};

struct ClassName {
    double middle;
    std::string_view name;
    int raised_px;
};
constexpr std::array<ClassName, 5> names{{{0.25, "multiple", 20},
                                          {1.0, "single", 6},
                                          {2.0, "1 miss", 20},
                                          {3.0, "2 misses", 6},
                                          {3.85, "3 or more", 20}}};

std::size_t shown_classes(const std::vector<std::int64_t>& histogram) {
    const auto last = std::find_if(histogram.rbegin(), histogram.rend(),
                                   [](std::int64_t count) { return count > 0; });
    const auto filled = static_cast<std::size_t>(histogram.rend() - last);
    return std::max(least_shown, filled);
}

std::string_view style_of(std::size_t bin) {
    const double middle = (static_cast<double>(bin) + 0.5) * class_width;
    return middle < edges[0] ? "bar many" : middle < edges[1] ? "bar one" : "bar few";
}

void draw_bars(Plot& plot, const measures::SpacingResult& spacing) {
    const double least_height = plot.y().high * 0.008;
    const double reference_mm = static_cast<double>(spacing.reference_um) / 1000.0;
    for (std::size_t bin = 0; bin < spacing.histogram.size(); ++bin) {
        if (spacing.histogram[bin] == 0)
            continue;
        const double left = static_cast<double>(bin) * class_width;
        const auto count = static_cast<double>(spacing.histogram[bin]);
        plot.box({left + 0.008, left + class_width - 0.008, 0, std::max(count, least_height)},
                 style_of(bin),
                 fmt::format("over {:.4g} up to {:.4g} mm: {} spacings", left * reference_mm,
                             (left + class_width) * reference_mm, spacing.histogram[bin]));
    }
}

void draw_classes(Plot& plot) {
    for (const double edge : edges)
        plot.segment({edge, 0, edge, plot.y().high}, "edge");
    for (const ClassName& name : names)
        plot.label({.x = name.middle, .y = plot.y().high, .dy_px = -name.raised_px}, name.name);
}

} // namespace

std::string spacing_histogram(const measures::SpacingResult& spacing) {
    const auto greatest = spacing.histogram.empty() ? std::int64_t{0}
                                                    : *std::max_element(spacing.histogram.begin(),
                                                                        spacing.histogram.end());
    const double width = static_cast<double>(shown_classes(spacing.histogram)) * class_width;
    Plot plot({0, width}, {0, 1.05 * static_cast<double>(std::max<std::int64_t>(1, greatest))},
              210);
    plot.y_axis("", 4);
    draw_bars(plot, spacing);
    draw_classes(plot);
    plot.segment({0, 0, width, 0}, "axis");
    for (const double edge : {0.0, 0.5, 1.0, 1.5, 2.5, 3.5})
        plot.x_tick(edge, fmt::format("{:g}", edge));
    plot.label(
        {.x = width / 2, .y = 0, .dy_px = 34},
        fmt::format("spacing / theoretical spacing ({})", length_words(spacing.reference_um)),
        "ttl");
    return plot.markup(fmt::format("Histogram of {} spacings in classes of a tenth of {}",
                                   spacing.counts.spacings(), length_words(spacing.reference_um)),
                       "plot tall");
}

} // namespace dropledger::report::pictures
