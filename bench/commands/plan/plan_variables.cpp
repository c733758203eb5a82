#include "bench/commands/plan/plan_variables.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/html/document.hpp"
#include "analysis/report/pictures/function_chart.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "analysis/sampling/variables_plan.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;
namespace pictures = report::pictures;

struct Options : Shown {
    std::optional<std::int64_t> n;
    double content = 0.95;
    double confidence = 0.95;
    std::optional<double> good;
    std::optional<double> bad;
    double alpha = 0.05;
    double beta = 0.10;
};

struct Report {
    std::optional<batch::ToleranceFactors> factors;
    std::optional<statistics::TwoPoint> points;
    std::optional<batch::VariablesPlan> plan;
};

Result<Report> report_of(const Options& options) {
    if (!options.n && !(options.good && options.bad))
        return usage("plan variables", "neither a number of units nor two levels",
                     "give --n, or --good and --bad");
    if (const Status levels = check_tolerance(options.confidence, options.content); !levels)
        return levels.error();
    Report report;
    if (options.n) {
        const auto factors = batch::tolerance_factors(
            {*options.n, Share{options.content}, Confidence{options.confidence}});
        if (!factors)
            return factors.error();
        report.factors = *factors;
    }
    if (options.good && options.bad) {
        report.points = {*options.good, *options.bad, options.alpha, options.beta};
        const auto plan = batch::variables_plan(*report.points);
        if (!plan)
            return plan.error();
        report.plan = *plan;
    }
    return report;
}

Json json_of(const batch::ToleranceFactors& factors) {
    Json ranks = nullptr;
    if (factors.ranks)
        ranks = {factors.ranks->low, factors.ranks->high};
    return {{"n", factors.request.n},
            {"content", factors.request.content.value()},
            {"confidence", factors.request.confidence.level()},
            {"two_sided", factors.two_sided},
            {"two_sided_howe", factors.two_sided_howe},
            {"one_sided", factors.one_sided},
            {"one_sided_nist", factors.one_sided_nist},
            {"ranks", ranks},
            {"rank_one_sided", or_null(factors.rank_one_sided)},
            {"needed_two_sided", factors.needed.two_sided},
            {"needed_one_sided", factors.needed.one_sided}};
}

// Shares at and between the two levels and somewhat beyond them.
std::vector<double> curve_shares(const statistics::TwoPoint& points) {
    std::vector<double> shares;
    for (int i = 1; i <= 40; ++i)
        shares.push_back(std::min(0.999, 1.5 * points.bad) * i / 40.0);
    return shares;
}

Json json_of(const batch::VariablesPlan& plan, const statistics::TwoPoint& points) {
    Json curve = Json::array();
    for (const double share : curve_shares(points))
        curve.push_back(
            {{"p", share}, {"accept_probability", batch::accept_probability(plan, share)}});
    return {{"good", points.good},
            {"bad", points.bad},
            {"alpha", points.alpha},
            {"beta", points.beta},
            {"n", plan.n},
            {"k", plan.k},
            {"accept_at_good", batch::accept_probability(plan, points.good)},
            {"accept_at_bad", batch::accept_probability(plan, points.bad)},
            {"curve", curve}};
}

std::string text_of(const batch::ToleranceFactors& factors) {
    std::string text =
        fmt::format("Tolerance factors for {} units, {:g} % of all units, confidence {:g} %\n",
                    factors.request.n, 100.0 * factors.request.content.value(),
                    100.0 * factors.request.confidence.level());
    text += fmt::format(
        "  normal values, two-sided         {:.4f}   (exact; Howe's approximation {:.4f})\n",
        factors.two_sided, factors.two_sided_howe);
    text += fmt::format(
        "  normal values, one-sided         {:.4f}   (exact; handbook's approximation {:.4f})\n",
        factors.one_sided, factors.one_sided_nist);
    text += "  any distribution, two-sided      ";
    text += factors.ranks ? fmt::format("values no. {} to {} in order of size\n",
                                        factors.ranks->low, factors.ranks->high)
                          : fmt::format("too few: it takes {} units\n", factors.needed.two_sided);
    text += "  any distribution, one-sided      ";
    return text + (factors.rank_one_sided
                       ? fmt::format("value no. {} from that end\n", *factors.rank_one_sided)
                       : fmt::format("too few: it takes {} units\n", factors.needed.one_sided));
}

std::string text_of(const batch::VariablesPlan& plan, const statistics::TwoPoint& points) {
    std::string text = fmt::format(
        "Measure {} units, accept where the limit lies at least\n"
        "{:.3f} standard deviations from the mean.\n"
        "Smallest with these risks, for normal values with unknown spread and one limit:\n",
        plan.n, plan.k);
    for (const double share : {points.good, points.bad})
        text += fmt::format("  {:g} % of units beyond the limit: accepted with {:.2f} %\n",
                            100.0 * share, 100.0 * batch::accept_probability(plan, share));
    return text;
}

std::string whole_text(const Report& report) {
    return (report.factors ? text_of(*report.factors) : "") +
           (report.plan ? text_of(*report.plan, *report.points) : "");
}

std::string picture(const batch::VariablesPlan& plan, const statistics::TwoPoint& points) {
    pictures::Curve curve{.name = fmt::format("{} units, k = {:.3f}", plan.n, plan.k),
                          .stroke = pictures::Stroke::solid,
                          .points = {{0.0, 1.0}}};
    for (const double share : curve_shares(points))
        curve.points.push_back({share, batch::accept_probability(plan, share)});
    return pictures::function_chart(
        {.title = "Operating characteristic",
         .description = "Chance that the plan accepts against the true share beyond the limit.",
         .x = {.name = "true share beyond the limit", .percent = true},
         .y = {.name = "chance of acceptance", .percent = true},
         .curves = {curve},
         .marks = {{points.good, batch::accept_probability(plan, points.good)},
                   {points.bad, batch::accept_probability(plan, points.bad)}},
         .marks_name = "good and bad level"});
}

std::string page_of(const Report& report) {
    using pictures::element;
    const std::string body = element("h1", "", "Plan by variables") + "\n" +
                             (report.plan ? element("h2", "", "As a picture") + "\n" +
                                                picture(*report.plan, *report.points)
                                          : "") +
                             element("h2", "", "In numbers") + "\n" +
                             element("pre", R"(tabindex="0" role="region" aria-label="in numbers")",
                                     pictures::escaped(whole_text(report))) +
                             "\n";
    return report::html::document({.title = "Plan by variables", .body = body});
}

Json whole_json(const Report& report) {
    Json json{{"schema", "dropledger/plan-variables/1"}, {"plan", "variables"}};
    json["factors"] = report.factors ? json_of(*report.factors) : Json(nullptr);
    json["two_point"] = report.plan ? json_of(*report.plan, *report.points) : Json(nullptr);
    return json;
}

} // namespace

void add_plan_variables(Command& plan) {
    const auto options = std::make_shared<Options>();
    Command command = plan.subcommand("variables", "how many measured units: tolerance factors, "
                                                   "and the smallest plan for two levels");
    command.option("--n", options->n, "units measured: print their tolerance factors")
        .option("--content", options->content, "share of all units that the range shall hold")
        .option("--confidence", options->confidence, "with so much confidence")
        .option("--good", options->good, "share beyond the limit that should pass: 0.01")
        .option("--bad", options->bad, "share beyond the limit that must be found out: 0.06")
        .option("--alpha", options->alpha, "risk of rejecting at the good level")
        .option("--beta", options->beta, "risk of accepting at the bad level")
        .option("--html", options->html, "also write a page with the curve to this file")
        .manual("plan_variables");
    answers(command, options,
            Answer<Options, Report>{
                .find = report_of, .json = whole_json, .text = whole_text, .page = page_of});
}

} // namespace dropledger::cli
