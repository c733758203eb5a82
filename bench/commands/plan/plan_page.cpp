#include "bench/commands/plan/plan_page.hpp"

#include "analysis/report/html/document.hpp"
#include "analysis/report/pictures/function_chart.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/plan/plan_text.hpp"

#include <fmt/format.h>

namespace dropledger::cli::plan {

namespace {

using namespace report::pictures;

std::string document(const std::string& title, const std::string& figures,
                     const std::string& numbers) {
    const std::string body =
        element("h1", "", escaped(title)) + "\n" + element("h2", "", "As a picture") + "\n" +
        figures + element("h2", "", "In numbers") + "\n" +
        element("pre", R"(tabindex="0" role="region" aria-label="in numbers")", escaped(numbers)) +
        "\n" +
        element(
            "p", "class=\"cap\"",
            "A plan holds for independent drops; where misses come in bursts the run's own audit "
            "widens its intervals.") +
        "\n";
    return report::html::document({.title = title, .body = body});
}

std::string share(double value) {
    return fmt::format("{:.3g} %", 100.0 * value);
}

Curve chances(const std::string& name, Stroke stroke,
              const std::vector<batch::QualityPoint>& curve) {
    Curve line{.name = name, .stroke = stroke, .points = {}};
    for (const auto& point : curve)
        line.points.push_back({point.p, point.accept_probability});
    return line;
}

// Numbers as steps, so that the picture shows whole hits.
Curve steps(const std::string& name, Stroke stroke, const std::vector<Numbers>& table,
            std::optional<std::int64_t> Numbers::*number) {
    Curve line{.name = name, .stroke = stroke, .points = {}};
    for (const Numbers& row : table) {
        if (!(row.*number))
            continue;
        const double y = static_cast<double>(*(row.*number));
        const double x = static_cast<double>(row.n);
        if (!line.points.empty() && line.points.back().y != y)
            line.points.push_back({x, line.points.back().y});
        if (line.points.empty() || line.points.back().y != y || &row == &table.back())
            line.points.push_back({x, y});
    }
    return line;
}

FunctionChart decision_chart(const SequentialReport& report) {
    return {
        .title = "When the run may stop",
        .description =
            "Hits against drops: at or below the lower steps the unit is accepted, at or above the "
            "upper steps it is rejected, between them the run goes on.",
        .x = {.name = "drops so far", .percent = false},
        .y = {.name = "hits (misses or multiples) so far", .percent = false},
        .curves = {steps("reject from here up", Stroke::solid, report.table, &Numbers::reject),
                   steps("accept from here down", Stroke::dashed, report.table, &Numbers::accept)},
        .marks = {},
        .marks_name = ""};
}

FunctionChart acceptance_chart(const SequentialReport& report) {
    Curve sequential{.name = "sequential, exact", .stroke = Stroke::solid, .points = {}};
    Curve fixed{.name = fmt::format("single sample of {}", report.fixed.n),
                .stroke = Stroke::dashed,
                .points = {}};
    for (const auto& point : report.curve) {
        sequential.points.push_back({point.p, point.accept});
        fixed.points.push_back({point.p, statistics::accept_probability(report.fixed, point.p)});
    }
    return {.title = "How often a unit is accepted",
            .description = fmt::format(
                "Chance of acceptance against the true share: {:.1f} % at the good level "
                "{}, {:.1f} % at the bad level {}.",
                100.0 * report.at_good.accept, share(report.at_good.p),
                100.0 * report.at_bad.accept, share(report.at_bad.p)),
            .x = {.name = "true share of hits", .percent = true},
            .y = {.name = "chance of acceptance", .percent = true},
            .curves = {sequential, fixed},
            .marks = {{report.at_good.p, report.at_good.accept},
                      {report.at_bad.p, report.at_bad.accept}},
            .marks_name = "good and bad level"};
}

FunctionChart length_chart(const SequentialReport& report) {
    Curve sequential{.name = "sequential, on average", .stroke = Stroke::solid, .points = {}};
    for (const auto& point : report.curve)
        sequential.points.push_back({point.p, point.mean_entries});
    const double n = static_cast<double>(report.fixed.n);
    return {.title = "How many drops it takes",
            .description = fmt::format(
                "Mean number of drops against the true share: largest, {:.1f}, at {}; the "
                "single sample always takes {}.",
                report.longest.mean_entries, share(report.longest.p), report.fixed.n),
            .x = {.name = "true share of hits", .percent = true},
            .y = {.name = "drops", .percent = false},
            .curves = {sequential,
                       {.name = "single sample with the same risks",
                        .stroke = Stroke::dashed,
                        .points = {{0.0, n}, {report.curve.back().p, n}}}},
            .marks = {},
            .marks_name = ""};
}

FunctionChart interval_chart(const IntervalReport& report) {
    Curve low{.name = "lower limit", .stroke = Stroke::dashed, .points = {}};
    Curve high{.name = "upper limit", .stroke = Stroke::solid, .points = {}};
    std::vector<LaterInterval> all{{report.n, report.clopper_pearson}};
    all.insert(all.end(), report.later.begin(), report.later.end());
    for (const LaterInterval& each : all) {
        low.points.push_back({static_cast<double>(each.n), each.interval.low});
        high.points.push_back({static_cast<double>(each.n), each.interval.high});
    }
    FunctionChart chart{
        .title = "How the interval narrows",
        .description =
            "Clopper-Pearson limits against the number of drops, if the share stays as it is.",
        .x = {.name = "drops", .percent = false},
        .y = {.name = "share", .percent = true},
        .curves = {high, low},
        .marks = {},
        .marks_name = ""};
    if (report.limit)
        chart.curves.push_back(
            {.name = "limit " + share(*report.limit),
             .stroke = Stroke::dotted,
             .points = {{0.0, *report.limit}, {high.points.back().x, *report.limit}}});
    return chart;
}

FunctionChart quality_chart(const std::vector<batch::QualityPoint>& curve, const std::string& plan,
                            std::vector<Point> marks) {
    return {.title = "Operating characteristic",
            .description = "Chance that the plan accepts against the true share nonconforming.",
            .x = {.name = "true share", .percent = true},
            .y = {.name = "chance of acceptance", .percent = true},
            .curves = {chances(plan, Stroke::solid, curve)},
            .marks = std::move(marks),
            .marks_name = "good and bad level"};
}

FunctionChart outgoing_chart(const AcceptanceReport& report) {
    Curve line{.name = "average outgoing share", .stroke = Stroke::solid, .points = {}};
    for (const auto& point : report.curve)
        line.points.push_back({point.p, point.outgoing_quality.value_or(0.0)});
    return {.title = "What leaves the workshop, if rejected lots are sorted",
            .description =
                fmt::format("Average outgoing share against the incoming one; never above {} over "
                            "many lots.",
                            share(report.outgoing_limit->aoql)),
            .x = {.name = "incoming share", .percent = true},
            .y = {.name = "outgoing share", .percent = true},
            .curves = {line},
            .marks = {},
            .marks_name = ""};
}

FunctionChart double_chart(const DoubleReport& report) {
    Curve all{.name = "accepted in all", .stroke = Stroke::solid, .points = {}};
    Curve first{.name = "by the first sample", .stroke = Stroke::dashed, .points = {}};
    for (const auto& point : report.curve) {
        all.points.push_back({point.p, point.accept_probability()});
        first.points.push_back({point.p, point.accept_first});
    }
    return {.title = "Operating characteristic",
            .description = "Chance that the plan accepts against the true share; between the lines "
                           "lies what the second sample adds.",
            .x = {.name = "true share", .percent = true},
            .y = {.name = "chance of acceptance", .percent = true},
            .curves = {all, first},
            .marks = {},
            .marks_name = ""};
}

FunctionChart sample_chart(const DoubleReport& report) {
    Curve line{.name = "mean sample", .stroke = Stroke::solid, .points = {}};
    for (const auto& point : report.curve)
        line.points.push_back({point.p, point.mean_sample});
    return {.title = "How many units it takes",
            .description = "Average number of units tested against the true share.",
            .x = {.name = "true share", .percent = true},
            .y = {.name = "units", .percent = false},
            .curves = {line},
            .marks = {},
            .marks_name = ""};
}

std::string plan_name(std::int64_t n, std::int64_t accept) {
    return fmt::format("sample {}, accept with at most {}", n, accept);
}

} // namespace

std::string page(const SequentialReport& report) {
    return document("Sequential plan",
                    function_chart(decision_chart(report)) +
                        function_chart(acceptance_chart(report)) +
                        function_chart(length_chart(report)),
                    text(report));
}

std::string page(const FixedReport& report) {
    return document(
        "Fixed plan",
        function_chart(quality_chart(report.curve, plan_name(report.plan.n, report.plan.accept),
                                     {{report.at_good.p, report.at_good.accept_probability},
                                      {report.at_bad.p, report.at_bad.accept_probability}})),
        text(report));
}

std::string page(const IntervalReport& report) {
    return document("Interval of a share", function_chart(interval_chart(report)), text(report));
}

std::string page(const AcceptanceReport& report) {
    std::string figures;
    if (report.curve.size() > 1)
        figures = function_chart(
                      quality_chart(report.curve, plan_name(report.numbers.n, report.accept), {})) +
                  (report.outgoing_limit ? function_chart(outgoing_chart(report)) : "");
    return document("Acceptance sampling plan", figures, text(report));
}

std::string page(const DoubleReport& report) {
    const bool drawn = report.curve.size() > 1;
    return document(
        "Double sampling plan",
        drawn ? function_chart(double_chart(report)) + function_chart(sample_chart(report)) : "",
        text(report));
}

} // namespace dropledger::cli::plan
