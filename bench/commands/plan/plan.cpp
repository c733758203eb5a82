#include "bench/commands/plan/plan.hpp"

#include "analysis/sampling/plan_reports.hpp"
#include "bench/commands/plan/plan_json.hpp"
#include "bench/commands/plan/plan_page.hpp"
#include "bench/commands/plan/plan_text.hpp"
#include "bench/commands/plan/plan_variables.hpp"
#include "bench/commands/shell/answer.hpp"

#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::cli::plan;
using namespace dropledger::planning;

template <class Options> struct Asked : Shown { Options options; };

template <class Options, class Report>
void add_kind(Command& plan, const std::string& name, const std::string& summary,
              void (*declare)(Command&, Options&), Result<Report> (*compute)(const Options&)) {
    const auto asked = std::make_shared<Asked<Options>>();
    Command command = plan.subcommand(name, summary);
    declare(command, asked->options);
    command.option("--html", asked->html, "also write a page with pictures to this file")
        .manual("plan_" + name);
    answers(command, asked,
            Answer<Asked<Options>, Report>{
                .find = [compute](const Asked<Options>& all) { return compute(all.options); },
                .json = [](const Report& report) { return json(report); },
                .text = [](const Report& report) { return text(report); },
                .page = [](const Report& report) { return page(report); }});
}

void add_points(Command& command, statistics::TwoPoint& points) {
    command.option("--good", points.good, "share that should pass: 0.01")
        .required("--good")
        .option("--bad", points.bad, "share that must be found out: 0.06")
        .required("--bad")
        .option("--alpha", points.alpha, "risk of rejecting at the good level")
        .option("--beta", points.beta, "risk of accepting at the bad level");
}

void add_pace(Command& command, PaceOptions& pace) {
    command.option("--speed-mps", pace.speed_mps, "bench speed in metres a second, for minutes")
        .option("--spacing-mm", pace.spacing_mm,
                "spacing of the drops in millimetres, for minutes");
}

void declare_sequential(Command& command, SequentialOptions& options) {
    add_points(command, options.points);
    command
        .option("--maximum", options.maximum, "hard maximum of drops; the run then ends undecided")
        .option("--at", options.at, "further shares of the curve, with commas between");
    add_pace(command, options.pace);
}

void declare_fixed(Command& command, FixedOptions& options) {
    add_points(command, options.points);
    command.option("--lot", options.lot, "units in the lot: exact for drawing without replacement");
    add_pace(command, options.pace);
}

void declare_interval(Command& command, IntervalOptions& options) {
    command.option("--of", options.of, "hits: misses, say")
        .required("--of")
        .option("--n", options.n, "drops")
        .required("--n")
        .option("--confidence", options.confidence, "two-sided confidence level")
        .option("--limit", options.limit, "share to be decided against: how many more drops?");
    add_pace(command, options.pace);
}

void declare_acceptance(Command& command, AcceptanceOptions& options) {
    command.option("--lot", options.lot, "units in the lot")
        .option("--level", options.level, "inspection level: I, II, III, S-1, S-2, S-3, S-4")
        .option("--aql", options.aql, "acceptance quality limit in percent: 0.010 to 10")
        .option("--severity", options.severity, "normal, tightened or reduced")
        .option("--n", options.n, "sample of a plan of your own, instead of --aql")
        .option("--accept", options.accept, "largest count that accepts, with --n")
        .option("--at", options.at, "shares of the curve, with commas between")
        .option("--nonconforming-counts", options.nonconforming_counts,
                "whole units of the lot for the curve, with commas between");
}

void declare_double(Command& command, DoubleOptions& options) {
    command.option("--good", options.good, "find the smallest plan: share that should pass")
        .option("--bad", options.bad, "and share that must be found out")
        .option("--alpha", options.alpha, "risk of rejecting at the good level")
        .option("--beta", options.beta, "risk of accepting at the bad level")
        .option("--ratio", options.ratio, "second sample as a multiple of the first")
        .option("--n1", options.plan.n1, "judge your own plan: first sample")
        .option("--accept1", options.plan.accept1, "largest count that accepts at once")
        .option("--reject1", options.plan.reject1, "smallest count that rejects at once")
        .option("--n2", options.plan.n2, "second sample")
        .option("--accept2", options.plan.accept2, "largest count in both samples that accepts")
        .option("--lot", options.lot, "units in the lot: exact for drawing without replacement")
        .option("--at", options.at, "shares of the curve, with commas between");
}

} // namespace

void declare_plan(Command plan) {
    add_kind(plan, "sequential", "stop as soon as the drops decide (Wald's test)",
             declare_sequential, sequential_report);
    add_kind(plan, "fixed", "the smallest single sample that keeps both risks", declare_fixed,
             fixed_report);
    add_kind(plan, "interval", "how wide the interval of a share is after so many drops",
             declare_interval, interval_report);
    add_kind(plan, "acceptance", "single sampling of a lot by attributes (ISO 2859-1 tables)",
             declare_acceptance, acceptance_report);
    add_kind(plan, "double", "a plan with a second sample for doubtful lots: found, or judged",
             declare_double, double_report);
    add_plan_variables(plan);
}

} // namespace dropledger::cli
