#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/calibrate/way.hpp"
#include "bench/commands/inputs/field_table.hpp"
#include "bench/commands/shell/estimate_words.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/lead/field_passes.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::calibration;
using report::estimate_json;
using Json = nlohmann::ordered_json;

struct Options : WayOptions {
    std::vector<std::string> logs;
    std::optional<std::string> csv;
    std::optional<std::string> mapping;
    std::optional<std::int64_t> row;
    std::optional<std::int64_t> lead_us;
    std::optional<double> at_mps;
};

struct Runs {
    std::vector<LeadRun> runs;
    std::vector<std::string> notes;
    bool both_ways = false;
};

bool is_field_table(const Options& options) {
    return options.logs.size() == 1 && options.logs.front().ends_with(".csv");
}

Result<Runs> runs_in_table(const std::string& file) {
    const auto text = files::whole_file(file, files::most_table_bytes);
    if (!text)
        return text.error();
    auto runs = read_lead_runs(*text, file);
    if (!runs)
        return runs.error();
    return Runs{*std::move(runs), {}, false};
}

Result<Runs> runs_in_field(const Options& options) {
    const std::string& file = options.logs.front();
    const auto table = read_field_table(files::open_file(file), file, options.mapping);
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
    if (const Status fit = fit_logs(options.logs, options.record); !fit)
        return fit.error();
    Runs out;
    for (const std::string& file : options.logs) {
        auto run = lead_run(files::open_file(file), file, channel_of(options));
        if (!run)
            return run.error();
        out.runs.push_back(*std::move(run));
    }
    return out;
}

Json by_speed_json(const LeadResult& found) {
    Json out = Json::array();
    for (const SpeedResult& speed : found.by_speed)
        out.push_back({{"run", speed.run.name},
                       {"speed_mps", speed.run.speed_mps},
                       {"direction", speed.run.direction},
                       {"error_mm", speed.run.error_mm},
                       {"u_mm", or_null(speed.run.u_mm)},
                       {"lead_us", or_null(speed.run.lead_us)},
                       {"fitted_mm", speed.fitted_mm},
                       {"residual_mm", speed.residual_mm}});
    return out;
}

Json json_of(const LeadResult& found) {
    Json json{{"schema", "dropledger/calibrate-lead/1"}};
    json["lag_us"] = estimate_json(found.lag_us);
    json["offset_mm"] = estimate_json(found.offset_mm);
    json["lag_u_us"] = found.lag_u_us;
    json["offset_u_mm"] = found.offset_u_mm;
    json["covariance_us_mm"] = found.covariance_us_mm;
    json["correlation"] = found.fit.correlation();
    json["lead_in_force_us"] = or_null(found.lead_in_force_us);
    json["lead_to_set_us"] = or_null(found.lead_to_set_us);
    json["lack_of_fit_p"] = or_null(found.fit.lack_of_fit_p);
    json["chi_squared"] = or_null(found.fit.chi_squared);
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
    WrittenFrom from{.logs = {}, .tables = {}, .channel = channel_of(options)};
    if (options.csv)
        from.tables = {*options.csv};
    else
        (is_field_table(options) ? from.tables : from.logs) = options.logs;
    return write_record(options.record, std::move(record), from);
}

Result<LeadResult> find(const Options& options) {
    if (const Status level = check_confidence(options.confidence); !level)
        return level.error();
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
    if (found)
        found->notes.insert(found->notes.end(), runs->notes.begin(), runs->notes.end());
    return found;
}

int status_of(const LeadResult& found) {
    constexpr double doubtful = 0.05;
    return found.fit.lack_of_fit_p && *found.fit.lack_of_fit_p < doubtful ? 2 : 0;
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
        .manual("calibrate_lead");
    answers(
        command, options,
        Answer<Options, LeadResult>{
            .find = find, .json = json_of, .text = text_of, .status = status_of, .keep = write});
}

} // namespace dropledger::cli
