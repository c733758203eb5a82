#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/gauge/gauge.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::calibration;
using statistics::Estimate;
using Json = nlohmann::ordered_json;

struct Options : Shown {
    std::string file;
    std::optional<double> tolerance;
    double confidence = 0.95;
};

struct PlanOptions {
    std::int64_t units = 10;
    std::int64_t operators = 3;
    std::int64_t repeats = 3;
    std::int64_t seed = 1;
};

Json anova_json(const GaugeStudy& study) {
    Json out = Json::array();
    for (const AnovaRow& row : study.anova)
        out.push_back({{"source", row.source},
                       {"ss", row.sum_of_squares},
                       {"df", row.degrees},
                       {"ms", or_null(row.mean_square)},
                       {"f", or_null(row.f)},
                       {"p", or_null(row.p)},
                       {"f_model", or_null(row.f_model)},
                       {"p_model", or_null(row.p_model)}});
    return out;
}

Json by_source_json(const BySource& value) {
    return {{"repeatability", value.repeatability},
            {"reproducibility", value.reproducibility},
            {"gauge", value.gauge},
            {"unit", value.unit},
            {"total", value.total}};
}

Json intervals_json(const GaugeIntervals& intervals) {
    return {{"repeatability_sd", report::estimate_json(intervals.repeatability)},
            {"reproducibility_sd", report::estimate_json(intervals.reproducibility)},
            {"operator_sd", report::estimate_json(intervals.operators)},
            {"interaction_sd", report::estimate_json(intervals.interaction)},
            {"gauge_sd", report::estimate_json(intervals.gauge)},
            {"unit_sd", report::estimate_json(intervals.unit)},
            {"total_sd", report::estimate_json(intervals.total)}};
}

// 6 standard deviations over the tolerance, with the standard deviation's interval.
std::optional<Estimate> gauge_of_tolerance(const GaugeStudy& study) {
    if (!study.percent_of_tolerance || !study.intervals.gauge.interval || !(study.sd.gauge > 0.0))
        return std::nullopt;
    Estimate percent = study.intervals.gauge;
    const double scale = study.percent_of_tolerance->gauge / study.sd.gauge;
    percent.value *= scale;
    percent.interval->low *= scale;
    percent.interval->high *= scale;
    return percent;
}

std::string fitness_words(const Estimate& percent) {
    constexpr double good = 10.0;
    constexpr double bad = 30.0;
    const char* const words =
        percent.interval->high < good ? "it can tell good units from bad ones"
        : percent.interval->low > bad
            ? "it can't tell good units from bad ones: mend the bench first"
        : percent.value < good ? "it looks good, but the study is too small to be sure"
        : percent.value > bad  ? "it looks unfit, but the study is too small to be sure"
        : percent.interval->high > bad
            ? "it may serve where the limit is not close, but the study is too "
              "small to be sure"
            : "it serves where the limit is not close";
    return fmt::format("The bench itself takes {:.0f} % of the tolerance ({:.0f} to {:.0f} %): {}. "
                       "(Below 10 % good, above 30 % "
                       "unfit: common practice, no source seen.)",
                       percent.value, percent.interval->low, percent.interval->high, words);
}

Json json_of(const GaugeStudy& study) {
    Json json{{"schema", "dropledger/calibrate-gauge/1"}};
    json["units"] = study.units;
    json["operators"] = study.operators;
    json["repeats"] = study.repeats;
    json["anova"] = anova_json(study);
    json["interaction_p"] = study.interaction_p;
    json["interaction_pooled"] = study.interaction_pooled;
    json["model_error"] = {{"against", study.model_error},
                           {"ms", study.model_error_mean_square},
                           {"df", study.model_error_degrees}};
    json["repeatability_sd"] = study.sd.repeatability;
    json["reproducibility_sd"] = study.sd.reproducibility;
    json["gauge_sd"] = study.sd.gauge;
    json["unit_sd"] = study.sd.unit;
    json["total_sd"] = study.sd.total;
    json["percent_of_total"] = by_source_json(study.percent_of_total);
    json["percent_contribution"] = by_source_json(study.percent_contribution);
    json["percent_of_tolerance"] =
        study.percent_of_tolerance ? by_source_json(*study.percent_of_tolerance) : Json(nullptr);
    json["gauge_percent_of_tolerance"] = report::estimate_json(gauge_of_tolerance(study));
    json["distinct_categories"] =
        study.categories ? Json(static_cast<std::int64_t>(std::floor(*study.categories)))
                         : Json(nullptr);
    json["distinct_categories_exact"] = or_null(study.categories);
    json["intervals"] = intervals_json(study.intervals);
    return json;
}

std::string cell(const std::optional<double>& value, int decimals) {
    return value ? fmt::format("{:.{}f}", *value, decimals) : std::string{};
}

void add_anova(TextPage& page, const GaugeStudy& study) {
    page.add("{} units, {} operators, {} repeats\n\n", study.units, study.operators, study.repeats);
    page.add("{:<14} {:>12} {:>5} {:>12} {:>10} {:>9} {:>10} {:>9}\n", "source", "SS", "df", "MS",
             "F", "p", "F (model)", "p (model)");
    for (const AnovaRow& row : study.anova)
        page.add("{:<14} {:>12.7f} {:>5} {:>12} {:>10} {:>9} {:>10} {:>9}\n", row.source,
                 row.sum_of_squares, row.degrees, cell(row.mean_square, 7), cell(row.f, 4),
                 cell(row.p, 4), cell(row.f_model, 4), cell(row.p_model, 4));
    page.add("\nF is against repeatability; F (model) against {} (MS {:.7f}, {} df).\n",
             study.model_error, study.model_error_mean_square, study.model_error_degrees);
    page.add("The interaction has p = {:.4f}: {}.\n\n", study.interaction_p,
             study.interaction_pooled ? "above 0.25, pooled into repeatability"
                                      : "not above 0.25, kept apart");
}

std::string text_of(const GaugeStudy& study) {
    TextPage page;
    add_anova(page, study);
    const auto row = [&](const char* name, const Estimate& sd, double BySource::*member) {
        page.add(
            "{:<16} sd {:.6g} ({:.4g} to {:.4g})  {:6.2f} % of total, {:6.2f} % of variance{}\n",
            name, sd.value, sd.interval->low, sd.interval->high, study.percent_of_total.*member,
            study.percent_contribution.*member,
            study.percent_of_tolerance
                ? fmt::format(", {:.2f} % of tolerance", (*study.percent_of_tolerance).*member)
                : std::string{});
    };
    row("repeatability", study.intervals.repeatability, &BySource::repeatability);
    row("reproducibility", study.intervals.reproducibility, &BySource::reproducibility);
    const auto part = [&page](const char* name, const Estimate& sd) {
        page.add("  {:<14} sd {:.6g} ({:.4g} to {:.4g})\n", name, sd.value, sd.interval->low,
                 sd.interval->high);
    };
    part("operators", study.intervals.operators);
    if (study.intervals.interaction)
        part("interaction", *study.intervals.interaction);
    row("gauge", study.intervals.gauge, &BySource::gauge);
    row("unit", study.intervals.unit, &BySource::unit);
    row("total", study.intervals.total, &BySource::total);
    if (study.categories)
        page.add("\nThe bench tells {} classes of units apart ({:.3f}, truncated).\n",
                 static_cast<std::int64_t>(std::floor(*study.categories)), *study.categories);
    if (const auto percent = gauge_of_tolerance(study))
        page.add("{}\n", fitness_words(*percent));
    constexpr std::int64_t few_operators = 5;
    if (study.operators < few_operators)
        page.add("With {} operators the part that is theirs is known loosely: see its interval; "
                 "more operators narrow it.\n",
                 study.operators);
    return page.text();
}

Result<GaugeStudy> find(const Options& options) {
    if (options.file.empty())
        return usage("FILE", "no file",
                     "name the CSV of the study, or ask for a plan: calibrate gauge plan");
    if (const Status level = check_confidence(options.confidence); !level)
        return level.error();
    const auto text = files::whole_file(options.file, files::most_table_bytes);
    if (!text)
        return text.error();
    const auto readings = read_gauge(*text, options.file);
    if (!readings)
        return readings.error();
    return gauge_study(*readings, options.tolerance, Confidence{options.confidence});
}

Result<int> plan(const PlanOptions& options) {
    if (options.seed < 0)
        return usage("--seed", "a seed below 0", "any whole number from 0");
    const auto order = plan_gauge({options.units, options.operators, options.repeats,
                                   static_cast<std::uint64_t>(options.seed)});
    if (!order)
        return order.error();
    TextPage page;
    page.add(
        "# order drawn at random with seed {}; fill in the values\nrun,unit,operator,trial,value\n",
        options.seed);
    std::size_t number = 0;
    for (const PlannedReading& reading : *order)
        page.add("{},{},{},{},\n", ++number, reading.unit, reading.operator_number, reading.trial);
    return deliver_text(page.text());
}

} // namespace

void add_calibrate_gauge(Command& calibrate) {
    const auto options = std::make_shared<Options>();
    Command gauge = calibrate.subcommand("gauge", "how well the bench repeats itself");
    const auto planned = std::make_shared<PlanOptions>();
    gauge.optional_subcommand("plan", "print the order of a study, drawn at random")
        .option("--units", planned->units, "units to measure")
        .option("--operators", planned->operators, "people who measure")
        .option("--repeats", planned->repeats, "times each measures each")
        .option("--seed", planned->seed, "the same seed gives the same order")
        .manual("calibrate_gauge_plan")
        .runs([planned] { return plan(*planned); });
    gauge.option("FILE", options->file, "CSV with unit, operator, trial, value")
        .option("--tolerance", options->tolerance,
                "whole width between the limits, in the value's unit")
        .option("--confidence", options->confidence, "two-sided confidence level of the intervals")
        .manual("calibrate_gauge");
    answers(gauge, options,
            Answer<Options, GaugeStudy>{.find = find, .json = json_of, .text = text_of});
}

} // namespace dropledger::cli
