#include "analysis/base/readers/or_null.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/calibrate/units.hpp"
#include "bench/commands/calibrate/way.hpp"
#include "bench/commands/inputs/field_table.hpp"
#include "bench/commands/shell/estimate_words.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/lead/field_passes.hpp"

#include <fmt/format.h>

#include <algorithm>
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
    bool fit_anyway = false;
    ForAllUnits for_all;
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

constexpr double doubtful = 0.05;

// Where runs are many enough to show that each is off by something of its own, the intervals hold
// that. Of several units the chance that any straight line is doubted stays the same (Bonferroni).
bool fits(const LeadResult& found, std::size_t of_units = 1) {
    return found.fit.offsets_sd ||
           found.fit.lack_of_fit_p.value_or(1.0) >=
               doubtful / static_cast<double>(std::max<std::size_t>(of_units, 1));
}

bool is_shown(const statistics::Estimate& lag_us) {
    return lag_us.interval && (lag_us.interval->low > 0.0 || lag_us.interval->high < 0.0);
}

// "12.30 ms (11.90 to 12.70 ms) late"; where the interval holds 0 both its sides are named.
std::string lag_words(const statistics::Estimate& lag_us, const char* after, const char* before) {
    const auto side = [&](double us, const char* unit = " ms") {
        return fmt::format("{:.2f}{} {}", std::fabs(us) / 1000.0, unit, us < 0.0 ? before : after);
    };
    if (!lag_us.interval)
        return side(lag_us.value) + " (no interval)";
    const auto& [low, high] = *lag_us.interval;
    if (!is_shown(lag_us))
        return fmt::format("{} ({} to {})", side(lag_us.value), side(low, ""), side(high));
    const auto [least, most] = std::minmax({std::fabs(low), std::fabs(high)});
    return fmt::format("{} ({:.2f} to {:.2f} ms)", side(lag_us.value), least / 1000.0,
                       most / 1000.0);
}

void add_what_to_do(TextPage& page, const LeadResult& found) {
    if (is_shown(found.lag_us))
        page.add("Seeds leave {}: open the valve {} by that.\n",
                 lag_words(found.lag_us, "late", "early"),
                 found.lag_us.value < 0.0 ? "later" : "earlier");
    else
        page.add("Seeds leave neither late nor early as far as these runs tell: {}. The lead may "
                 "stay as it is.\n",
                 lag_words(found.lag_us, "late", "early"));
    if (found.lead_to_set_us)
        page.add("Lead to set: {:.1f} ms ({} us); {:.1f} ms is in force.\n",
                 static_cast<double>(*found.lead_to_set_us) / 1000.0, *found.lead_to_set_us,
                 static_cast<double>(*found.lead_in_force_us) / 1000.0);
    if (found.fit.lack_of_fit_p.value_or(0.0) >= doubtful)
        page.add("A straight line fits the errors over speed (p = {:.3f}).\n",
                 *found.fit.lack_of_fit_p);
    if (!fits(found))
        page.add("No straight line fits the errors over speed (p = {:.2g}): one lead does not mend "
                 "this unit.\n",
                 *found.fit.lack_of_fit_p);
}

// Millimetres with the digits that the interval supports.
std::string mm_words(const statistics::Estimate& length_mm) {
    return in_words(length_mm, decimals_of(length_mm, Unit::millimetres));
}

// For the errors of all speeds: what the best known one supports.
int table_decimals(const std::vector<SpeedResult>& speeds) {
    std::optional<double> least_mm;
    for (const SpeedResult& speed : speeds)
        if (speed.run.u_mm && *speed.run.u_mm > 0.0)
            least_mm = std::min(least_mm.value_or(*speed.run.u_mm), *speed.run.u_mm);
    const auto spread = [](double mm) {
        return statistics::Estimate{.value = 0.0, .interval = statistics::Interval{-mm, mm}};
    };
    return least_mm ? decimals_of(spread(*least_mm), Unit::millimetres) : 2;
}

std::string text_of(const LeadResult& found) {
    TextPage page;
    add_what_to_do(page, found);
    page.add("\nlag     {} us, standard uncertainty {:.1f} us\n", in_words(found.lag_us, 0),
             found.lag_u_us);
    page.add("offset  {} mm, standard uncertainty {:.2g} mm; covariance {:.4g} us mm\n",
             mm_words(found.offset_mm), found.offset_u_mm, found.covariance_us_mm);
    page.add("\n{:>9} {:>4} {:>10} {:>8} {:>10} {:>10}\n", "speed m/s", "way", "error mm", "u mm",
             "fitted mm", "rest mm");
    const int digits = table_decimals(found.by_speed);
    for (const SpeedResult& speed : found.by_speed)
        page.add("{:>9.3f} {:>4} {:>10.{}f} {:>8} {:>10.{}f} {:>10.{}f}  {}\n", speed.run.speed_mps,
                 speed.run.direction > 0 ? "+" : "-", speed.run.error_mm, digits,
                 speed.run.u_mm ? fmt::format("{:.2g}", *speed.run.u_mm) : "", speed.fitted_mm,
                 digits, speed.residual_mm, digits, speed.run.name);
    page.add("\nBias expected once the lead is set:\n");
    for (const ResidualBias& left : found.residual)
        page.add("{:>9.3f} {:>4}  {} mm\n", left.speed_mps, left.direction > 0 ? "+" : "-",
                 mm_words(left.bias_mm));
    for (const std::string& note : found.notes)
        page.add("{}\n", note);
    return page.text();
}

Status write(const Options& options, const LeadResult& found, std::size_t of_units) {
    if (options.record.write && !fits(found, of_units) && !options.fit_anyway)
        return usage("--write",
                     fmt::format("no straight line fits the errors over speed (p = {:.2g}), so no "
                                 "lead holds at all of them",
                                 *found.fit.lack_of_fit_p),
                     "look at the run that is unlike the others and make it again; --fit-anyway "
                     "writes the record nevertheless");
    if (const calibration::LeadRun* const run = found.first_in_doubt();
        options.record.write && run != nullptr && !options.fit_anyway)
        return usage("--write", fmt::format("{}: {}", run->name, *run->doubt),
                     "mend that, let the unit run until it is warm, and make the run again; "
                     "--fit-anyway writes the record nevertheless");
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

using AllLeads = OfUnits<LeadResult>;

Result<AllLeads> find_all(const Options& options) {
    if (const Status possible = check_for_all(options.for_all, options.record); !possible)
        return possible.error();
    if (options.csv || is_field_table(options)) {
        auto one = find(options);
        if (!one)
            return one.error();
        return AllLeads{{{{}, *std::move(one)}}, {}, false};
    }
    if (const Status fit = fit_logs(options.logs, options.record); !fit)
        return fit.error();
    return found_of_units<LeadResult>(options, find);
}

Json json_of_all(const AllLeads& all) {
    return json_of_units("dropledger/calibrate-lead-several/1", all, json_of);
}

std::string text_of_all(const AllLeads& all) {
    if (!all.several)
        return text_of(all.units.front().found);
    TextPage page;
    page.add("{:<12} {:>11}  {:<12}  {}\n", "unit", "lead to set", "line", "that is, open");
    for (const auto& [unit, found] : all.units)
        page.add("{:<12} {:>11}  {:<12}  {}\n", unit.unit,
                 found.lead_to_set_us
                     ? fmt::format("{:.1f} ms", static_cast<double>(*found.lead_to_set_us) / 1000.0)
                     : "not known",
                 fits(found, all.units.size()) ? "fits" : "does not fit",
                 lag_words(found.lag_us, "earlier", "later"));
    for (const std::string& sentence : all.left_out)
        page.add("left out: {}\n", sentence);
    page.add("\nOne unit in full: --channel\n");
    return page.text();
}

// As asked for this unit alone.
Result<Options> options_of_unit(const Options& options, const UnitOnLog& unit, bool several) {
    Options own = options;
    if (!unit.unit.empty())
        own.channel = unit.channel;
    if (several) {
        auto record = record_of_unit(options.record, unit);
        if (!record)
            return record.error();
        own.record = *std::move(record);
    }
    return own;
}

// Of several units the one whose errors no line fits is left alone; a single one is refused.
bool is_left_alone(const Options& own, const UnitOnLog& unit, const LeadResult& found,
                   const AllLeads& all) {
    const bool left =
        all.several && own.record.write && !fits(found, all.units.size()) && !own.fit_anyway;
    if (left)
        tell("{}: no straight line fits its errors (p = {:.2g}): no record written, nothing set\n",
             unit.unit, *found.fit.lack_of_fit_p);
    return left;
}

Status write_all(const Options& options, const AllLeads& all) {
    std::vector<std::string> records;
    std::vector<LeadToSet> leads;
    for (const auto& [unit, found] : all.units) {
        auto asked = options_of_unit(options, unit, all.several);
        if (!asked)
            return asked.error();
        const Options& own = *asked;
        if (is_left_alone(own, unit, found, all))
            continue;
        if (const Status written = write(own, found, all.units.size()); !written)
            return written;
        if (own.record.write)
            records.push_back(*own.record.write);
        if (found.lead_to_set_us)
            leads.push_back({unit, *found.lead_to_set_us});
    }
    if (const Status entered = enter_in_book(options.for_all, records); !entered)
        return entered;
    return set_leads(options.for_all, leads);
}

int status_of_all(const AllLeads& all) {
    return status_of_units(
        all, [&](const LeadResult& found) { return fits(found, all.units.size()) ? 0 : 2; });
}

} // namespace

void add_calibrate_lead(Command& calibrate) {
    const auto options = std::make_shared<Options>();
    Command command = calibrate.subcommand(
        "lead", "lag and offset from runs at three or more speeds, and the lead to set");
    add_write_options(command, options->record);
    add_for_all_options(command, options->for_all);
    command
        .option("LOG", options->logs, "droplogs at three or more speeds, or one field table (.csv)")
        .option("--csv", options->csv, "a table of mean errors instead")
        .option("--mapping", options->mapping, "how the field table names and writes things (TOML)")
        .option("--row", options->row, "which row of the field table, where it has several")
        .option("--channel", options->channel, "only this channel; all of them where not said")
        .option("--lead-us", options->lead_us, "lead in force, where the input does not say")
        .option("--at-mps", options->at_mps, "a further speed at which to state the bias left")
        .flag("--fit-anyway", options->fit_anyway,
              "write the record even where no straight line fits the errors")
        .option("--confidence", options->confidence, "two-sided confidence level")
        .manual("calibrate_lead");
    answers(command, options,
            Answer<Options, AllLeads>{.find = find_all,
                                      .json = json_of_all,
                                      .text = text_of_all,
                                      .status = status_of_all,
                                      .keep = write_all});
}

} // namespace dropledger::cli
