#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/calibrate/way.hpp"
#include "bench/commands/shell/estimate_words.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/flight/strip_flight.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::calibration;
using Json = nlohmann::ordered_json;

struct Options : WayOptions {
    std::vector<std::string> logs;
    std::vector<std::string> tables;
    std::optional<double> rule_zero_mm;
    std::optional<double> height_mm;
    double height_u_mm = 0.0;
    double exit_mps = 0.0;
    double exit_u_mps = 0.0;
    std::optional<double> terminal_mps;
    double terminal_u_mps = 0.0;
    double rule_u_mm = 0.0;
    std::int64_t gate = 1;
};

struct Findings {
    std::optional<FlightResult> geometry;
    std::optional<FlightResult> landings;
    std::vector<Strip> strips;
    std::optional<StripFlight> from_strips;
    std::optional<FlightComparison> comparison;

    [[nodiscard]] const FlightResult& best() const { return landings ? *landings : *geometry; }
};

Status check(const Options& options) {
    if (const Status level = check_confidence(options.confidence); !level)
        return level;
    if (const Status known = check_gate(options.gate); !known)
        return known;
    if (options.tables.empty() && !options.height_mm)
        return usage("--height-mm", "neither geometry nor landings",
                     "give --height-mm, --csv FILE, or both");
    if (options.logs.empty() && options.tables.size() > 1)
        return usage("--csv", "several tables without logs",
                     "put them into one, or name the log of each with --log");
    if (!options.logs.empty() && options.logs.size() != options.tables.size())
        return usage(
            "--csv",
            fmt::format("{} logs and {} tables", options.logs.size(), options.tables.size()),
            "each --log has its --csv, in the same order");
    return Done{};
}

Status add_geometry(const Options& options, Findings& out) {
    if (!options.height_mm)
        return Done{};
    FlightGeometry geometry{
        {*options.height_mm, options.height_u_mm}, {options.exit_mps, options.exit_u_mps}, {}};
    if (options.terminal_mps)
        geometry.terminal_mps = Input{*options.terminal_mps, options.terminal_u_mps};
    auto found = flight(geometry, Confidence{options.confidence});
    if (!found)
        return found.error();
    out.geometry = *std::move(found);
    return Done{};
}

Status add_table(const Options& options, Findings& out) {
    const auto text = files::whole_file(options.tables.front(), files::most_table_bytes);
    if (!text)
        return text.error();
    const auto landings = read_landings(*text, options.tables.front());
    if (!landings)
        return landings.error();
    auto found = flight(*landings, options.rule_u_mm, Confidence{options.confidence});
    if (!found)
        return found.error();
    out.landings = *std::move(found);
    return Done{};
}

Result<Strip> strip_of(const Options& options, const Findings& found, std::size_t which) {
    const auto text = files::whole_file(options.tables[which], files::most_table_bytes);
    if (!text)
        return text.error();
    const auto readings = read_rule(*text, options.tables[which]);
    if (!readings)
        return readings.error();
    StripWhere where{.file = options.logs[which],
                     .channel = channel_of(options),
                     .gate = static_cast<int>(options.gate)};
    if (found.geometry)
        where.expected_us = found.geometry->flight_us.value;
    where.zero_mm = options.rule_zero_mm;
    return match_strip(files::open_file(where.file), where, *readings);
}

Status add_strips(const Options& options, Findings& out) {
    if (Status fit = fit_logs(options.logs, options.record); !fit)
        return fit;
    for (std::size_t i = 0; i < options.logs.size(); ++i) {
        auto strip = strip_of(options, out, i);
        if (!strip)
            return strip.error();
        out.strips.push_back(*std::move(strip));
    }
    auto found = flight(out.strips, RuleZero{options.rule_zero_mm, options.rule_u_mm},
                        Confidence{options.confidence});
    if (!found)
        return found.error();
    out.landings = found->result;
    out.from_strips = *std::move(found);
    return Done{};
}

Result<Findings> find(const Options& options) {
    if (const Status status = check(options); !status)
        return status.error();
    Findings out;
    if (const Status status = add_geometry(options, out); !status)
        return status.error();
    if (!options.tables.empty()) {
        const Status status =
            options.logs.empty() ? add_table(options, out) : add_strips(options, out);
        if (!status)
            return status.error();
    }
    if (out.geometry && out.landings)
        out.comparison = compare(*out.landings, *out.geometry, Confidence{options.confidence});
    return out;
}

Status write(const Options& options, const Findings& found) {
    calibration::Record record;
    record.holds_for.gate = static_cast<int>(options.gate);
    record.flight_us = calibration::ValueWithU{found.best().flight_us.value, found.best().u_us};
    const auto channel =
        found.strips.empty() ? std::nullopt : std::optional{found.strips.front().channel};
    return write_record(options.record, std::move(record), {options.logs, options.tables, channel});
}

void add_flight(TextPage& page, const FlightResult& found) {
    page.add("flight {} us, standard uncertainty {:.0f} us ({})\n", in_words(found.flight_us, 0),
             found.u_us, found.flight_us.method);
    if (found.scatter_us)
        page.add("{} landings, scatter from seed to seed {:.0f} us\n", found.landings,
                 *found.scatter_us);
}

void add_strip(TextPage& page, const Strip& strip) {
    page.add("{} channel {}: {} pulses, {} landings measured, {} matched", strip.file,
             strip.channel, strip.pulses, strip.readings, strip.matched.size());
    const std::int64_t without =
        strip.readings - static_cast<std::int64_t>(strip.matched.size()) - strip.several;
    if (without > 0)
        page.add("; {} landings without a pulse", without);
    if (strip.several > 0)
        page.add("; {} landings of drops with several seeds left out", strip.several);
    page.add("\n");
    if (strip.stated_us)
        page.add("  the log states a flight time of {} us\n", *strip.stated_us);
    if (strip.flight_taken_small)
        page.add("  No flight time is known to start from: it is taken to be under half a "
                 "spacing of travel.\n");
}

std::string text_of(const Findings& found) {
    TextPage page;
    for (const Strip& strip : found.strips)
        add_strip(page, strip);
    add_flight(page, found.best());
    if (found.from_strips) {
        if (found.from_strips->zero_mm)
            page.add("the rule's zero lies at {} mm of travel\n",
                     in_words(*found.from_strips->zero_mm, 2));
        if (found.from_strips->lack_of_fit_p)
            page.add("A straight line in travel speed fits: p = {:.3f}\n",
                     *found.from_strips->lack_of_fit_p);
        page.add("What the uncertainty is made of:\n");
        for (const BudgetLine& line : found.from_strips->budget)
            page.add("  {:8.1f} us  {}\n", line.u_us, line.source);
    }
    if (found.comparison) {
        page.add("From geometry: ");
        add_flight(page, *found.geometry);
        page.add("{}\n", found.comparison->words);
    }
    return page.text();
}

Json strip_json(const Strip& strip) {
    return {{"log", strip.file},
            {"channel", strip.channel},
            {"pulses", strip.pulses},
            {"readings", strip.readings},
            {"matched", strip.matched.size()},
            {"several", strip.several},
            {"stated_us", or_null(strip.stated_us)}};
}

void add_strips_json(const Findings& found, Json& json) {
    const StripFlight& strips = *found.from_strips;
    json["zero_mm"] = report::estimate_json(strips.zero_mm);
    json["lack_of_fit_p"] = or_null(strips.lack_of_fit_p);
    json["budget"] = Json::array();
    for (const BudgetLine& line : strips.budget)
        json["budget"].push_back({{"source", line.source}, {"u_us", line.u_us}});
    json["strips"] = Json::array();
    for (const Strip& strip : found.strips)
        json["strips"].push_back(strip_json(strip));
}

Json json_of(const Findings& found) {
    const FlightResult& best = found.best();
    Json json{{"schema", "dropledger/calibrate-flight/1"}};
    json["flight_us"] = report::estimate_json(best.flight_us);
    json["u_us"] = best.u_us;
    json["landings"] = best.landings;
    json["scatter_us"] = or_null(best.scatter_us);
    if (found.from_strips)
        add_strips_json(found, json);
    if (found.comparison) {
        json["geometry"] = {{"flight_us", report::estimate_json(found.geometry->flight_us)},
                            {"u_us", found.geometry->u_us}};
        json["comparison"] = {{"difference_us", found.comparison->difference_us},
                              {"u_us", found.comparison->u_us},
                              {"agree", found.comparison->agree},
                              {"words", found.comparison->words}};
    }
    return json;
}

int status_of(const Findings& found) {
    constexpr int disagree = 2;
    return found.comparison && !found.comparison->agree ? disagree : 0;
}

} // namespace

void add_calibrate_flight(Command& calibrate) {
    const auto options = std::make_shared<Options>();
    Command command =
        calibrate.subcommand("flight", "how long a seed falls from a gate to the ground");
    add_write_options(command, options->record);
    command.repeated("--log", options->logs, "run over a strip; may be given several times")
        .repeated("--csv", options->tables, "landings measured by rule; one for each log")
        .option("--channel", options->channel, "which channel, where the logs have several")
        .option("--rule-zero-mm", options->rule_zero_mm,
                "travel position at the rule's zero, where known")
        .option("--rule-u-mm", options->rule_u_mm, "standard uncertainty that all landings share")
        .option("--gate", options->gate, "gate that saw the seeds and that the record is for")
        .option("--height-mm", options->height_mm, "gate over ground")
        .option("--height-u-mm", options->height_u_mm, "its standard uncertainty")
        .option("--exit-mps", options->exit_mps, "speed at the gate, downwards")
        .option("--exit-u-mps", options->exit_u_mps, "its standard uncertainty")
        .option("--terminal-mps", options->terminal_mps,
                "terminal speed of the seed; none: without air")
        .option("--terminal-u-mps", options->terminal_u_mps, "its standard uncertainty")
        .option("--confidence", options->confidence, "two-sided confidence level")
        .manual("calibrate_flight");
    answers(
        command, options,
        Answer<Options, Findings>{
            .find = find, .json = json_of, .text = text_of, .status = status_of, .keep = write});
}

} // namespace dropledger::cli
