#include "bench/commands/plan/plan.hpp"

#include "bench/commands/plan/plan_json.hpp"
#include "bench/commands/plan/plan_page.hpp"
#include "bench/commands/plan/plan_reports.hpp"
#include "bench/commands/plan/plan_text.hpp"
#include "bench/commands/plan/plan_variables.hpp"
#include "bench/commands/shell/command.hpp"
#include "bench/commands/shell/deliver.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::cli::plan;

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
    command.manual("Prints the numbers that accept and reject after every drop, the exact chances "
                   "of each decision and\n"
                   "the mean number of drops (recursion drop by drop, not Wald's approximation), "
                   "and what the plan\n"
                   "saves against the smallest single sample with the same risks.\n"
                   "JSON: k, h_accept, h_reject, slope, table [{n, accept, reject}], curve [{p,\n"
                   "accept_probability, reject_probability, undecided_probability, mean_drops}], "
                   "fixed, saving.\n"
                   "Example: dropledger plan sequential --good 0.01 --bad 0.06 --speed-mps 0.25 "
                   "--spacing-mm 180\n"
                   "Exit status: 0, or 64 for levels and risks that make no plan.");
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
    command.manual("JSON: n, accept, reject, at_good, at_bad, curve [{p, accept_probability}].\n"
                   "Example: dropledger plan fixed --good 0.01 --bad 0.10\n"
                   "Exit status: 0, or 64 for levels and risks that make no plan.");
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
    command.manual("JSON: clopper_pearson, wilson, jeffreys, mid_p as [low, high]; later; "
                   "more_drops (null: not\n"
                   "within not_within more drops, or no limit given).\n"
                   "Example: dropledger plan interval --of 3 --n 250 --limit 0.05\n"
                   "Exit status: 0, or 64 for counts that cannot be.");
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
    command.manual("With --lot and --aql: the plan of the tables. With --n and --accept: the curve "
                   "of your own plan,\n"
                   "binomial, or hypergeometric with --lot (shares are then moved to the nearest "
                   "whole unit).\n"
                   "JSON: letter, n, accept, reject, curve [{p, accept_probability, "
                   "average_outgoing_quality,\n"
                   "average_total_inspection}]. The reduced table has a gap between accept and "
                   "reject: a count\n"
                   "in it accepts the lot and ends reduced inspection.\n"
                   "Examples: dropledger plan acceptance --lot 280 --aql 1.0\n"
                   "          dropledger plan acceptance --n 52 --accept 3 --at 0.05,0.10\n"
                   "Exit status: 0, or 64 for what the tables do not hold.");
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
    command.manual(
        "With --good and --bad: the plan with the smallest first sample that keeps both risks, "
        "found by "
        "trying them all\nfrom below; of several the one with the smallest mean sample at the good "
        "level. "
        "With --n1, --accept1, --reject1,\n--n2 and --accept2: what your own plan does.\n"
        "JSON: n1, accept1, reject1, n2, accept2, found {good, bad, alpha, beta, at_good, at_bad} "
        "or null, "
        "curve [{p,\naccept_probability, accept_by_first, accept_by_second, mean_sample}].\n"
        "Examples: dropledger plan double --good 0.01 --bad 0.06 --ratio 2\n"
        "          dropledger plan double --n1 50 --accept1 1 --reject1 4 --n2 100 --accept2 3\n"
        "Exit status: 0, or 64 for numbers that make no plan.");
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
