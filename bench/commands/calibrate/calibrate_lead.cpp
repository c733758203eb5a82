#include "analysis/report/json/estimate_json.hpp"
#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/shell/calibrate_output.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/lead/field_passes.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <cmath>
#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::calibration;
using calibrate::in_words;
using report::estimate_json;
using Json = nlohmann::ordered_json;

struct Options {
    std::vector<std::string> logs;
    std::optional<std::string> csv;
    std::optional<std::string> mapping;
    std::optional<std::int64_t> row;
    std::optional<std::int64_t> channel;
    std::optional<std::int64_t> lead_us;
    std::optional<double> at_mps;
    double confidence = 0.95;
    bool json = false;
    WriteOptions record;
};

struct Runs {
    std::vector<LeadRun> runs;
    std::vector<std::string> notes;
    bool both_ways = false;
};

Result<std::string> text_in(const std::string& file) {
    constexpr std::size_t longest = std::size_t{64} * 1024 * 1024;
    return files::whole_file(file, longest);
}

bool is_field_table(const Options& options) {
    return options.logs.size() == 1 && options.logs.front().ends_with(".csv");
}

Result<Runs> runs_in_table(const std::string& file) {
    const auto text = text_in(file);
    if (!text)
        return text.error();
    auto runs = read_lead_runs(*text, file);
    if (!runs)
        return runs.error();
    return Runs{*std::move(runs), {}, false};
}

Result<Runs> runs_in_field(const Options& options) {
    field::Mapping mapping;
    if (options.mapping) {
        const auto text = text_in(*options.mapping);
        if (!text)
            return text.error();
        const auto read = field::parse_mapping(*text, *options.mapping);
        if (!read)
            return read.error();
        mapping = *read;
    }
    const std::string& file = options.logs.front();
    const auto source = files::open_file(file)();
    if (!source)
        return source.error();
    const auto table = field::read_field(**source, file, mapping);
    if (!table)
        return table.error();
    auto passes = field_passes(*table, file, options.row);
    if (!passes)
        return passes.error();
    Runs out{std::move(passes->runs), std::move(passes->notes), true};
    if (table->rows_bad > 0)
        out.notes.push_back(fmt::format(
            "{} rows of the table can't be read; the first, line {}: {}.", table->rows_bad,
            table->bad_samples.front().line, table->bad_samples.front().reason));
    return out;
}

Result<Runs> runs_of(const Options& options) {
    if (options.csv.has_value() == !options.logs.empty())
        return usage("--csv", "logs or one CSV are needed, not both",
                     "name at least three logs, or --csv FILE");
    if (options.csv)
        return runs_in_table(*options.csv);
    if (is_field_table(options))
        return runs_in_field(options);
    const auto channel =
        options.channel ? std::optional{static_cast<int>(*options.channel)} : std::nullopt;
    if (const Status fit = fit_logs(options.logs, options.record); !fit)
        return fit.error();
    Runs out;
    for (const std::string& file : options.logs) {
        auto run = lead_run(files::open_file(file), file, channel);
        if (!run)
            return run.error();
        out.runs.push_back(*std::move(run));
    }
    return out;
}

template <class T> Json nullable(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json by_speed_json(const LeadResult& found) {
    Json out = Json::array();
    for (const SpeedResult& speed : found.by_speed)
        out.push_back({{"run", speed.run.name},
                       {"speed_mps", speed.run.speed_mps},
                       {"direction", speed.run.direction},
                       {"error_mm", speed.run.error_mm},
                       {"u_mm", nullable(speed.run.u_mm)},
                       {"lead_us", nullable(speed.run.lead_us)},
                       {"fitted_mm", speed.fitted_mm},
                       {"residual_mm", speed.residual_mm}});
    return out;
}

Json json_of(const LeadResult& found) {
    Json json = calibrate::begin_json();
    json["lag_us"] = estimate_json(found.lag_us);
    json["offset_mm"] = estimate_json(found.offset_mm);
    json["lag_u_us"] = found.lag_u_us;
    json["offset_u_mm"] = found.offset_u_mm;
    json["covariance_us_mm"] = found.covariance_us_mm;
    json["correlation"] = found.fit.correlation();
    json["lead_in_force_us"] = nullable(found.lead_in_force_us);
    json["lead_to_set_us"] = nullable(found.lead_to_set_us);
    json["lack_of_fit_p"] = nullable(found.fit.lack_of_fit_p);
    json["chi_squared"] = nullable(found.fit.chi_squared);
    json["residual_sd_mm"] = found.fit.weighted ? Json(nullptr) : Json(found.fit.residual_sd);
    json["degrees"] = found.fit.degrees;
    json["widened"] = found.fit.widened;
    json["by_speed"] = by_speed_json(found);
    json["residual"] = Json::array();
    for (const ResidualBias& left : found.residual)
        json["residual"].push_back({{"speed_mps", left.speed_mps},
                                    {"direction", left.direction},
                                    {"bias_mm", estimate_json(left.bias_mm)}});
    json["notes"] = found.notes;
    return json;
}

std::string text_of(const LeadResult& found) {
    TextPage page;
    page.add("lag     {} us, standard uncertainty {:.1f} us\n", in_words(found.lag_us, 0),
             found.lag_u_us);
    page.add("offset  {} mm, standard uncertainty {:.3f} mm; covariance {:.4g} us mm\n",
             in_words(found.offset_mm, 3), found.offset_u_mm, found.covariance_us_mm);
    if (found.lead_to_set_us)
        page.add("lead to set: {} us ({} us in force)\n", *found.lead_to_set_us,
                 *found.lead_in_force_us);
    if (found.fit.lack_of_fit_p)
        page.add("A straight line fits: p = {:.3f}\n", *found.fit.lack_of_fit_p);
    page.add("\n{:>9} {:>4} {:>10} {:>8} {:>10} {:>10}\n", "speed m/s", "way", "error mm", "u mm",
             "fitted mm", "rest mm");
    for (const SpeedResult& speed : found.by_speed)
        page.add("{:>9.3f} {:>4} {:>10.3f} {:>8} {:>10.3f} {:>10.3f}  {}\n", speed.run.speed_mps,
                 speed.run.direction > 0 ? "+" : "-", speed.run.error_mm,
                 speed.run.u_mm ? fmt::format("{:.3f}", *speed.run.u_mm) : "", speed.fitted_mm,
                 speed.residual_mm, speed.run.name);
    page.add("\nBias expected once the lead is set:\n");
    for (const ResidualBias& left : found.residual)
        page.add("{:>9.3f} {:>4}  {} mm\n", left.speed_mps, left.direction > 0 ? "+" : "-",
                 in_words(left.bias_mm, 3));
    for (const std::string& note : found.notes)
        page.add("{}\n", note);
    return page.text();
}

Status write(const Options& options, const LeadResult& found) {
    calibration::Record record;
    record.lead = calibration::LeadValues{{found.lag_us.value, found.lag_u_us},
                                          {found.offset_mm.value, found.offset_u_mm},
                                          found.covariance_us_mm,
                                          found.lead_to_set_us};
    const auto channel =
        options.channel ? std::optional{static_cast<int>(*options.channel)} : std::nullopt;
    if (options.csv)
        return write_record(options.record, std::move(record), {{}, {*options.csv}, channel});
    if (is_field_table(options))
        return write_record(options.record, std::move(record), {{}, options.logs, channel});
    return write_record(options.record, std::move(record), {options.logs, {}, channel});
}

Result<int> run(const Options& options) {
    if (!calibrate::is_confidence(options.confidence))
        return usage("--confidence", "no confidence level", "between 0 and 1: 0.95");
    if (options.at_mps && !(*options.at_mps > 0.0 && std::isfinite(*options.at_mps)))
        return usage("--at-mps", "no speed", "above 0");
    const auto runs = runs_of(options);
    if (!runs)
        return runs.error();
    LeadOptions how;
    how.confidence = Confidence{options.confidence};
    how.lead_us = options.lead_us;
    if (options.at_mps)
        how.at_mps = {*options.at_mps};
    how.both_ways = runs->both_ways;
    auto found = lead(runs->runs, how);
    if (!found)
        return found.error();
    found->notes.insert(found->notes.end(), runs->notes.begin(), runs->notes.end());
    if (const Status status = write(options, *found); !status)
        return status.error();
    constexpr double doubtful = 0.05;
    const int status = found->fit.lack_of_fit_p.value_or(1.0) < doubtful ? 2 : 0;
    return options.json ? deliver_json(json_of(*found), status)
                        : deliver_text(text_of(*found), status);
}

} // namespace

void add_calibrate_lead(Command& calibrate) {
    const auto options = std::make_shared<Options>();
    Command command = calibrate.subcommand(
        "lead", "lag and offset from runs at three or more speeds, and the lead to set");
    add_write_options(command, options->record);
    command
        .option("LOG", options->logs,
                "droplogs of one unit at three or more speeds, or one field table (.csv)")
        .option("--csv", options->csv, "a table of mean errors instead")
        .option("--mapping", options->mapping, "how the field table names and writes things (TOML)")
        .option("--row", options->row, "which row of the field table, where it has several")
        .option("--channel", options->channel, "which channel, where the logs have several")
        .option("--lead-us", options->lead_us, "lead in force, where the input does not say")
        .option("--at-mps", options->at_mps, "a further speed at which to state the bias left")
        .option("--confidence", options->confidence, "two-sided confidence level")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("calibrate_lead")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli
