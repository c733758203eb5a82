#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "analysis/sampling/variables.hpp"
#include "bench/commands/batch/tables/tables.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/estimate_words.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

struct Options : Shown {
    std::string file;
    std::string column = "value";
    std::optional<double> lower;
    std::optional<double> upper;
    double content = 0.95;
    double confidence = 0.95;
};

struct Measured {
    std::vector<double> values;
    std::vector<std::string> units; // empty names where the file has none
};

struct Judged {
    batch::VariablesResult result;
    Options asked;
    std::vector<std::string> beyond; // units
};

Result<Measured> read_values(const Options& options) {
    const auto text = files::whole_file(options.file, files::most_table_bytes);
    if (!text)
        return text.error();
    const auto table =
        CsvTable::read(*text, options.file, {.needed = {options.column}, .optional = {"unit"}});
    if (!table)
        return table.error();
    Measured measured;
    for (const CsvRow& row : table->rows()) {
        const auto value = table->number(row, 0);
        if (!value)
            return value.error();
        measured.values.push_back(*value);
        measured.units.push_back(row.fields[1]);
    }
    return measured;
}

std::vector<std::string> beyond_units(const Measured& measured, const Options& options) {
    std::vector<std::string> names;
    for (std::size_t i = 0; i < measured.values.size(); ++i) {
        const double value = measured.values[i];
        if ((options.lower && value < *options.lower) || (options.upper && value > *options.upper))
            names.push_back(measured.units[i].empty() ? fmt::format("no. {}", i + 1)
                                                      : measured.units[i]);
    }
    return names;
}

Json json_of(const Judged& judged) {
    const auto& [result, options, beyond] = judged;
    Json json{{"schema", "dropledger/batch-variables/1"},
              {"lower_limit", or_null(options.lower)},
              {"upper_limit", or_null(options.upper)},
              {"content", options.content},
              {"confidence", options.confidence},
              {"n", result.n},
              {"mean", result.mean},
              {"sd", or_null(result.sd)},
              {"least", result.least},
              {"most", result.most},
              {"beyond", result.beyond},
              {"beyond_units", beyond}};
    json["share_beyond"] = report::estimate_json(result.share_beyond);
    json["normality"] = {
        {"a_squared", result.normality ? Json(result.normality->a_squared) : Json(nullptr)},
        {"p", result.normality ? Json(result.normality->p) : Json(nullptr)},
        {"shape", word_of(result.shape)}};
    json["interval"] = nullptr;
    if (result.interval)
        json["interval"] = {{"lower", or_null(result.interval->lower)},
                            {"upper", or_null(result.interval->upper)},
                            {"factor", or_null(result.interval->factor)},
                            {"method", result.interval->method}};
    json["cp"] = report::estimate_json(result.capability ? result.capability->cp : std::nullopt);
    json["cpk"] = report::estimate_json(result.capability ? std::optional(result.capability->cpk)
                                                          : std::nullopt);
    json["needed_without_distribution"] = result.needed_without_distribution;
    json["outcome"] = word_of(result.outcome);
    json["reason"] = result.reason;
    return json;
}

void add_interval(TextPage& page, const batch::ToleranceInterval& interval,
                  const Options& options) {
    std::string range;
    if (interval.lower && interval.upper)
        range = fmt::format("{:.5g} to {:.5g}", *interval.lower, *interval.upper);
    else
        range = interval.lower ? fmt::format("from {:.5g} up", *interval.lower)
                               : fmt::format("up to {:.5g}", *interval.upper);
    page.add("  holds {:g} % of all units       {} (confidence {:g} %; {}{})\n",
             100.0 * options.content, range, 100.0 * options.confidence, interval.method,
             interval.factor ? fmt::format(", k = {:.4f}", *interval.factor) : "");
}

std::string text_of(const Judged& judged) {
    const auto& [result, options, beyond] = judged;
    TextPage page;
    page.add("{}: {}\n\n", word_of(result.outcome), result.reason);
    page.add("  units                          {}\n", result.n);
    page.add("  mean, standard deviation       {:.5g}, {:.4g}\n", result.mean, *result.sd);
    page.add("  least, most                    {:.5g}, {:.5g}\n", result.least, result.most);
    page.add("  beyond the limits              {} of {}: {} of all units\n", result.beyond,
             result.n, in_percent(result.share_beyond));
    for (const std::string& unit : beyond)
        page.add("                                 {}\n", unit);
    if (result.normality)
        page.add("  normality                      {} (Anderson-Darling A2 = {:.3f}, p = {:.3g})\n",
                 word_of(result.shape), result.normality->a_squared, result.normality->p);
    else
        page.add("  normality                      {}\n", word_of(result.shape));
    if (result.interval)
        add_interval(page, *result.interval, options);
    if (result.capability && result.capability->cp)
        page.add("  Cp                             {}\n", in_words(*result.capability->cp, 3));
    if (result.capability)
        page.add("  Cpk                            {}\n", in_words(result.capability->cpk, 3));
    return page.text();
}

int status_of(const Judged& judged) {
    switch (judged.result.outcome) {
    case batch::VariablesOutcome::within:
        return 0;
    case batch::VariablesOutcome::outside:
        return 1;
    case batch::VariablesOutcome::undecided:
        return 2;
    }
    throw BrokenInvariant("an outcome without a status");
}

Result<Judged> judge(const Options& options) {
    if (const Status levels = check_tolerance(options.confidence, options.content); !levels)
        return levels.error();
    const auto measured = read_values(options);
    if (!measured)
        return measured.error();
    auto result =
        batch::judge_variables(measured->values, {.limits = {options.lower, options.upper},
                                                  .content = Share{options.content},
                                                  .confidence = Confidence{options.confidence}});
    if (!result)
        return result.error();
    return Judged{*std::move(result), options, beyond_units(*measured, options)};
}

} // namespace

void add_batch_variables(Command& batch) {
    const auto options = std::make_shared<Options>();
    Command command = batch.subcommand(
        "variables", "measured values against limits: tolerance interval, capability");
    command.option("FILE", options->file, "CSV with one measured value a unit")
        .required("FILE")
        .option("--column", options->column, "the column that holds the values")
        .option("--lower", options->lower, "lower limit")
        .option("--upper", options->upper, "upper limit")
        .option("--content", options->content, "share of all units that must lie inside")
        .option("--confidence", options->confidence, "confidence of the interval")
        .manual("batch_variables");
    answers(command, options,
            Answer<Options, Judged>{
                .find = judge, .json = json_of, .text = text_of, .status = status_of});
}

} // namespace dropledger::cli
