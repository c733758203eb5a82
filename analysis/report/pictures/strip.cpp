#include "analysis/report/pictures/strip.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/pictures/plot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace dropledger::report::pictures {

namespace {

using ledger::Mode;
using measures::Incident;
using measures::TracePoint;

constexpr int cell = 10; // units of the row's own coordinates
constexpr int row_height = 34;
constexpr std::size_t usual_row = 50; // drops
constexpr std::size_t inline_bar_count = 60;

enum class Mark { one, none, some, more };

Mark mark_of(const TracePoint& point) {
    if (point.many > 0)
        return Mark::more;
    if (point.few == 0)
        return Mark::one;
    return point.seeds == 0 ? Mark::none : Mark::some;
}

std::string_view id_of(Mark mark) {
    return mark == Mark::more ? "drop-more" : mark == Mark::none ? "drop-none" : "drop-some";
}

std::string words_of_mark(Mark mark, Mode mode) {
    const bool portion = mode == Mode::portion;
    switch (mark) {
    case Mark::one:
        return portion ? "exact portion" : "single";
    case Mark::none:
        return portion ? "empty portion" : "miss";
    case Mark::some:
        return "short portion";
    case Mark::more:
        return portion ? "over the count" : "multiple";
    }
    throw BrokenInvariant("a mark without words");
}

using Lines = std::map<std::uint32_t, std::uint64_t>; // drop index to log line

Lines lines_of(const measures::Trace& trace) {
    Lines lines;
    for (const Incident& incident : trace.incidents())
        lines.emplace(incident.index, incident.line);
    return lines;
}

std::string title_of(const TracePoint& point, Mode mode, const Lines& lines) {
    std::string text =
        fmt::format("drop {}: {}, {} {}", point.first_index, words_of_mark(mark_of(point), mode),
                    point.seeds, point.seeds == 1 ? "seed" : "seeds");
    if (const auto line = lines.find(point.first_index); line != lines.end())
        text += fmt::format(", log line {}", line->second);
    return text;
}

struct Row {
    const TracePoint* points = nullptr;
    std::size_t count = 0;
};

// Small strokes after every tenth drop, long ones after every turn of the disc.
std::string rail(std::size_t drops, const StripStyle& style) {
    std::string strokes = fmt::format("M0 22h{}", drops * cell);
    for (std::size_t i = 10; i < drops; i += 10)
        strokes += fmt::format("M{} 24v4", i * cell);
    const std::size_t turns = style.turns_per_row();
    for (std::size_t turn = 1; turn < turns; ++turn)
        if (const std::size_t at = turn * style.drops_per_row() / turns; at < drops)
            strokes += fmt::format("M{} 22v12", at * cell);
    return fmt::format(R"(<path class="rail" d="{}" />)", strokes);
}

std::string row_marks(const Row& row, const StripStyle& style, const Lines& lines) {
    std::string ticks;
    std::string marks;
    for (std::size_t i = 0; i < row.count; ++i) {
        const TracePoint& point = row.points[i];
        const int x = static_cast<int>(i) * cell + cell / 2;
        const Mark mark = mark_of(point);
        if (mark == Mark::one)
            ticks += fmt::format("M{} 12v10", x);
        else
            marks += fmt::format(R"(<use href="#{}" x="{}" y="0"><title>{}</title></use>)",
                                 id_of(mark), x, escaped(title_of(point, style.mode, lines)));
    }
    return rail(row.count, style) +
           (ticks.empty() ? "" : fmt::format(R"(<path class="tick" d="{}" />)", ticks)) + marks;
}

std::string row_label(const Row& row, Mode mode) {
    std::map<Mark, int> counts;
    for (std::size_t i = 0; i < row.count; ++i)
        ++counts[mark_of(row.points[i])];
    std::string text = fmt::format("Drops {} to {}", row.points[0].first_index,
                                   row.points[row.count - 1].first_index);
    for (const auto& [mark, count] : counts)
        text += fmt::format(", {} {}", count, words_of_mark(mark, mode));
    return text;
}

std::string row_id_at(std::uint32_t first_index, const std::string& prefix) {
    return fmt::format("{}-drop-{}", prefix, first_index);
}

std::string row_markup(const Row& row, const StripStyle& style, const Lines& lines) {
    const std::uint32_t first = row.points[0].first_index;
    return fmt::format(
        R"(<div class="run-row" id="{}" data-first="{}" data-last="{}"><span>{}</span>)"
        R"(<svg role="img" aria-label="{}" viewBox="0 0 {} {}">{}</svg></div>)"
        "\n",
        row_id_at(first, style.prefix), first, row.points[row.count - 1].first_index, first,
        row_label(row, style.mode), style.drops_per_row() * cell, row_height,
        row_marks(row, style, lines));
}

std::string legend_item(std::string_view drawing, std::string_view words) {
    return fmt::format(
        R"(<span class="key"><svg viewBox="0 0 10 34" width="12" height="40" aria-hidden="true">{}</svg>{}</span>)",
        drawing, escaped(words));
}

std::string legend_symbol(Mark mark, Mode mode, const char* shape) {
    return legend_item(
        fmt::format(R"(<path class="rail" d="M0 22h10" /><use href="#{}" x="5" y="0" />)",
                    id_of(mark)),
        words_of_mark(mark, mode) + ": " + shape);
}

// Points of the trace added up into at most `bars` of equal length.
std::vector<TracePoint> summed(const measures::Trace& trace, std::size_t bars) {
    const auto& points = trace.points();
    const std::size_t per_bar = (points.size() + bars - 1) / bars;
    std::vector<TracePoint> sums;
    for (std::size_t i = 0; i < points.size(); ++i) {
        if (i % per_bar == 0)
            sums.push_back({.first_index = points[i].first_index});
        sums.back().drops += points[i].drops;
        sums.back().few += points[i].few;
        sums.back().many += points[i].many;
    }
    return sums;
}

std::uint32_t greatest(const std::vector<TracePoint>& bars, std::uint32_t TracePoint::*count) {
    std::uint32_t most = 0;
    for (const TracePoint& bar : bars)
        most = std::max(most, bar.*count);
    return most;
}

} // namespace

std::size_t StripStyle::turns_per_row() const {
    if (!cells || *cells < 8 || *cells > 100)
        return 0;
    return std::max<std::size_t>(1, usual_row / static_cast<std::size_t>(*cells));
}

std::size_t StripStyle::drops_per_row() const {
    const std::size_t turns = turns_per_row();
    return turns == 0 ? usual_row : turns * static_cast<std::size_t>(cells.value_or(0));
}

std::string row_id(const measures::Trace& trace, std::uint32_t index, const StripStyle& style) {
    const auto& points = trace.points();
    const auto found = std::find_if(points.begin(), points.end(), [&](const TracePoint& point) {
        return point.first_index == index;
    });
    if (found == points.end())
        return "";
    const auto at = static_cast<std::size_t>(found - points.begin());
    return row_id_at(points[at - at % style.drops_per_row()].first_index, style.prefix);
}

std::string drop_strip(const measures::Trace& trace, const StripStyle& style) {
    const auto& points = trace.points();
    const Lines lines = lines_of(trace);
    const std::size_t per_row = style.drops_per_row();
    std::string rows;
    for (std::size_t at = 0; at < points.size(); at += per_row)
        rows += row_markup({&points[at], std::min(per_row, points.size() - at)}, style, lines);
    return rows.empty() ? "" : "<div class=\"run\">\n" + rows + "</div>\n";
}

std::string strip_legend(Mode mode) {
    std::string items =
        legend_item(R"(<path class="rail" d="M0 22h10" /><path class="tick" d="M5 12v10" />)",
                    words_of_mark(Mark::one, mode) + ": a tick on the line");
    items += legend_symbol(Mark::none, mode, "an open ring under the line");
    if (mode == Mode::portion)
        items += legend_symbol(Mark::some, mode, "a half ring under the line");
    items += legend_symbol(Mark::more, mode, "a tall double tick with a roof");
    return element("p", "class=\"keys\"", items) + "\n";
}

std::string incident_bars(const measures::Trace& trace, Mode mode) {
    if (trace.points().empty())
        return "";
    const std::vector<TracePoint> bars = summed(trace, 120);
    const double up = std::max(1.0, static_cast<double>(greatest(bars, &TracePoint::many)));
    const double down = std::max(1.0, static_cast<double>(greatest(bars, &TracePoint::few)));
    const double first = bars.front().first_index;
    const TracePoint& last = bars.back();
    Plot plot({first, static_cast<double>(last.first_index) + last.drops}, {-1.1 * down, 1.1 * up},
              180);
    for (const TracePoint& bar : bars) {
        const double left = bar.first_index;
        const double right = left + bar.drops * 0.86;
        const std::string title = fmt::format(
            "drops {} to {}: {} {}, {} {}", bar.first_index, bar.first_index + bar.drops - 1,
            bar.few, mode == Mode::portion ? "empty or short" : "misses", bar.many,
            mode == Mode::portion ? "over" : "multiples");
        plot.box({left, right, 0, static_cast<double>(bar.many)}, "bar many", title);
        plot.box({left, right, -static_cast<double>(bar.few), 0}, "bar few", title);
    }
    for (const Tick& tick : ticks(plot.y(), 6))
        plot.label({.x = first, .y = tick.value, .dx_px = -6, .dy_px = 4, .anchor = "end"},
                   tick.label.starts_with('-') ? tick.label.substr(1) : tick.label);
    plot.x_axis("commanded drop", 6);
    plot.segment({first, 0, plot.x().high, 0}, "axis");
    const bool portion = mode == Mode::portion;
    plot.label(
        {.x = first, .y = plot.y().high, .dx_px = 4, .dy_px = -4, .anchor = "start"},
        fmt::format("up: {} per {} drops", portion ? "over" : "multiples", bars.front().drops));
    plot.label({.x = plot.x().high, .y = plot.y().low, .dx_px = -4, .dy_px = -6, .anchor = "end"},
               fmt::format("down: {}", portion ? "empty or short" : "misses"));
    return plot.markup("Misses and multiples along the run");
}

double tallest_inline_bar(const measures::Trace& trace) {
    const std::vector<TracePoint> bars = summed(trace, inline_bar_count);
    return std::max({1.0, static_cast<double>(greatest(bars, &TracePoint::many)),
                     static_cast<double>(greatest(bars, &TracePoint::few))});
}

std::string inline_bars(const measures::Trace& trace, double most) {
    if (trace.points().empty())
        return "";
    const std::vector<TracePoint> bars = summed(trace, inline_bar_count);
    std::string marks = R"(<path class="rail" d="M0 15h240" />)";
    for (std::size_t i = 0; i < bars.size(); ++i) {
        const auto bar = [&](std::uint32_t count, const char* style, bool up) {
            const double height = 13.0 * count / most;
            if (count > 0)
                marks +=
                    fmt::format(R"(<rect class="{}" x="{}" y="{}" width="3" height="{}" />)", style,
                                i * 4, coordinate(up ? 15.0 - height : 15.0), coordinate(height));
        };
        bar(bars[i].many, "solid-many", true);
        bar(bars[i].few, "solid-few", false);
    }
    return fmt::format(
        R"(<svg class="inline" role="img" aria-label="multiples up, misses down, along the run" viewBox="0 0 240 30" preserveAspectRatio="none">{}</svg>)",
        marks);
}

} // namespace dropledger::report::pictures
