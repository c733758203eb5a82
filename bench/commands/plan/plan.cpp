#include "bench/commands/plan/plan.hpp"

#include "analysis/sampling/plan_reports.hpp"
#include "bench/commands/plan/plan_json.hpp"
#include "bench/commands/plan/plan_page.hpp"
#include "bench/commands/plan/plan_text.hpp"
#include "bench/commands/plan/plan_variables.hpp"
#include "bench/commands/shell/command.hpp"
#include "bench/commands/shell/deliver.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::cli::plan;
using namespace dropledger::planning;

struct OutputOptions {
    bool json = false;
    std::optional<std::string> html;
};

template <class Options> struct Asked {
    Options options;
    OutputOptions output;
};

template <class Report> Result<int> deliver(const Report& report, const OutputOptions& output) {
    Outputs outputs;
    outputs.writes("--html", output.html, files::FileKind::html);
    if (output.html)
        outputs.put("--html", page(report));
    if (output.json)
        outputs.json_text(json(report));
    else
        outputs.text(text(report));
    return outputs.deliver(0);
}

// Declares the outputs and hands over what to run: compute the report, deliver it.
template <class Options, class Compute>
void finish(Command& command, const std::shared_ptr<Asked<Options>>& asked,
            const Compute& compute) {
    command.flag("--json", asked->output.json, "print one JSON object and nothing else")
        .option("--html", asked->output.html, "also write a page with pictures to this file");
    command.runs([asked, compute]() -> Result<int> {
        const auto report = compute(asked->options);
        if (!report)
            return report.error();
        return deliver(*report, asked->output);
    });
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

void add_sequential(Command& parent) {
    auto asked = std::make_shared<Asked<SequentialOptions>>();
    Command command =
        parent.subcommand("sequential", "stop as soon as the drops decide (Wald's test)");
    add_points(command, asked->options.points);
    command
        .option("--maximum", asked->options.maximum,
                "hard maximum of drops; the run then ends undecided")
        .option("--at", asked->options.at, "further shares of the curve, with commas between");
    add_pace(command, asked->options.pace);
    command.manual("plan_sequential");
    finish(command, asked, sequential_report);
}

void add_fixed(Command& parent) {
    auto asked = std::make_shared<Asked<FixedOptions>>();
    Command command =
        parent.subcommand("fixed", "the smallest single sample that keeps both risks");
    add_points(command, asked->options.points);
    command.option("--lot", asked->options.lot,
                   "units in the lot: exact for drawing without replacement");
    add_pace(command, asked->options.pace);
    command.manual("plan_fixed");
    finish(command, asked, fixed_report);
}

void add_interval(Command& parent) {
    auto asked = std::make_shared<Asked<IntervalOptions>>();
    Command command =
        parent.subcommand("interval", "how wide the interval of a share is after so many drops");
    command.option("--of", asked->options.of, "hits: misses, say")
        .required("--of")
        .option("--n", asked->options.n, "drops")
        .required("--n")
        .option("--confidence", asked->options.confidence, "two-sided confidence level")
        .option("--limit", asked->options.limit,
                "share to be decided against: how many more drops?");
    add_pace(command, asked->options.pace);
    command.manual("plan_interval");
    finish(command, asked, interval_report);
}

void add_acceptance(Command& parent) {
    auto asked = std::make_shared<Asked<AcceptanceOptions>>();
    Command command = parent.subcommand(
        "acceptance", "single sampling of a lot by attributes (ISO 2859-1 tables)");
    auto& options = asked->options;
    command.option("--lot", options.lot, "units in the lot")
        .option("--level", options.level, "inspection level: I, II, III, S-1, S-2, S-3, S-4")
        .option("--aql", options.aql, "acceptance quality limit in percent: 0.10 to 6.5")
        .option("--severity", options.severity, "normal, tightened or reduced")
        .option("--n", options.n, "sample of a plan of your own, instead of --aql")
        .option("--accept", options.accept, "largest count that accepts, with --n")
        .option("--at", options.at, "shares of the curve, with commas between")
        .option("--nonconforming-counts", options.nonconforming_counts,
                "whole units of the lot for the curve, with commas between");
    command.manual("plan_acceptance");
    finish(command, asked, acceptance_report);
}

void add_double(Command& parent) {
    auto asked = std::make_shared<Asked<DoubleOptions>>();
    Command command = parent.subcommand(
        "double", "a plan with a second sample for doubtful lots: found, or judged");
    auto& options = asked->options;
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
    command.manual("plan_double");
    finish(command, asked, double_report);
}

} // namespace

void add_plan(Program& program) {
    Command command =
        program.subcommand("plan", "how many drops or units are needed, and what a plan does");
    add_sequential(command);
    add_fixed(command);
    add_interval(command);
    add_acceptance(command);
    add_double(command);
    add_plan_variables(command);
}

} // namespace dropledger::cli
