#include "analysis/report/pictures/sequential_chart.hpp"

#include "analysis/report/pictures/plot.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::report::pictures {

namespace {

using measures::SequentialPath;
using statistics::Decision;
using statistics::SequentialPlan;

// The drops shown: all of a short run, or the decision with as much again, so that it is not lost
// in a corner.
double drops_shown(const SequentialPath& path) {
    const auto all = static_cast<double>(path.entries());
    const auto decided = static_cast<double>(path.decided_after());
    return std::max(30.0, std::min(all, 2.0 * decided));
}

std::vector<Point> steps(const SequentialPath& path, double last) {
    std::vector<Point> points{{0.0, 0.0}};
    double hits = 0.0;
    for (const std::int64_t at : path.hit_at()) {
        const auto x = static_cast<double>(at);
        if (x > last)
            break;
        points.push_back({x, hits});
        points.push_back({x, ++hits});
    }
    points.push_back({std::min(last, static_cast<double>(path.entries())), hits});
    return points;
}

double on_line(const SequentialPlan& plan, double n, double h) {
    return plan.slope * n + h;
}

std::string_view mark_of(Decision decision) {
    if (decision == Decision::accept)
        return "mark-within";
    return decision == Decision::reject ? "mark-outside" : "mark-undecided";
}

std::string_view style_of(Decision decision) {
    if (decision == Decision::accept)
        return "within";
    return decision == Decision::reject ? "outside" : "undecided";
}

// The two lines from where they enter the plot; a line that never does is left out.
void draw_lines(Plot& plot, const SequentialPlan& plan, double last) {
    const double top = plot.y().high;
    const double bad_until = std::min(last, (top - plan.h_reject) / plan.slope);
    if (bad_until > 0.0) {
        plot.segment({0, plan.h_reject, bad_until, on_line(plan, bad_until, plan.h_reject)},
                     "limit");
        plot.label({.x = 0, .y = plan.h_reject, .dx_px = 6, .dy_px = 17, .anchor = "start"}, "bad");
    }
    const double good_from = plan.h_accept / plan.slope;
    if (good_from >= last)
        return;
    plot.segment({good_from, 0, last, on_line(plan, last, -plan.h_accept)}, "bias");
    plot.label({.x = last, .y = 0, .dx_px = -6, .dy_px = -6, .anchor = "end"}, "good");
}

// A rule by a limit has no lines: where they would run depends on the rows. Its limit is drawn.
double height(const SequentialPath& path, double last) {
    if (const auto* const limit = path.limit_plan())
        return limit->limit * last;
    const auto& plan = std::get<SequentialPlan>(path.plan());
    return std::max(plan.h_reject + 1.0, on_line(plan, last, -plan.h_accept));
}

void draw_rule(Plot& plot, const SequentialPath& path, double last) {
    if (const auto* const limit = path.limit_plan()) {
        plot.segment({0, 0, last, limit->limit * last}, "limit");
        plot.label({.x = last, .y = limit->limit * last, .dx_px = -6, .dy_px = 14, .anchor = "end"},
                   "limit");
        return;
    }
    draw_lines(plot, std::get<SequentialPlan>(path.plan()), last);
}

} // namespace

std::string sequential_chart(const SequentialPath& path, const std::string& what) {
    if (path.entries() < 2)
        return "";
    const double last = drops_shown(path);
    const std::vector<Point> points = steps(path, last);
    const double top = 1.1 * std::max(points.back().y, height(path, last));
    Plot plot({0, last}, {0, top}, 210);
    plot.y_axis(what, 5);
    draw_rule(plot, path, last);
    plot.line(points, "stair");
    plot.symbol({static_cast<double>(path.decided_after()), static_cast<double>(path.hits_then())},
                mark_of(path.decision()), style_of(path.decision()));
    plot.x_axis("commanded drops", 6);
    return plot.markup(
        path.limit_plan() != nullptr
            ? fmt::format("{} against drops, with the limit that the run was stopped by", what)
            : fmt::format("{} against drops between the lines of the sequential test", what));
}

} // namespace dropledger::report::pictures
