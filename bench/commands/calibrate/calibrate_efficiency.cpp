#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/calibrate/calibrate_efficiency_output.hpp"
#include "bench/commands/calibrate/units.hpp"
#include "bench/commands/calibrate/way.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/record/applied.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <memory>

namespace dropledger::cli {

namespace {

using namespace efficiency;

struct Options : WayOptions {
    std::vector<std::string> logs;
    std::vector<std::string> records;
    bool anyway = false;
    std::optional<std::int64_t> both;
    std::optional<std::int64_t> first;
    std::optional<std::int64_t> second;
    std::optional<std::int64_t> dropped;
    std::optional<std::int64_t> seen;
    std::optional<double> mass_g;
    std::optional<double> mass_u_g;
    std::optional<double> thousand_g;
    std::optional<double> thousand_u_g;
    std::optional<std::int64_t> pulses;
    std::string seen_by = "first";
    double joint_odds = 1.0;
    ForAllUnits for_all;
};

// All of them or none.
template <class... Values> Result<bool> given(const std::string& names, const Values&... values) {
    const int count = (0 + ... + (values.has_value() ? 1 : 0));
    if (count != 0 && count != static_cast<int>(sizeof...(Values)))
        return usage(names, "these belong together, and some are missing", "give all of them");
    return count != 0;
}

Status add_logs(const Options& options, Findings& out) {
    statistics::TwoObservers total;
    const auto records = read_records(options.records);
    if (!records)
        return records.error();
    ClassifiersFor classifiers;
    if (!records->empty())
        classifiers = [&](const droplog::Header& header, int number) {
            return classifiers_for(*records, header, number,
                                   {.anyway = options.anyway, .today = {}});
        };
    for (const std::string& file : options.logs) {
        const auto pulses =
            pulses_of(files::open_file(file), file, channel_of(options), classifiers);
        if (!pulses)
            return pulses.error();
        auto matching = match(*pulses);
        if (!matching)
            return matching.error();
        total.both += matching->seen.both;
        total.first += matching->seen.first;
        total.second += matching->seen.second;
        out.logs.push_back({file,
                            pulses->channel,
                            *std::move(matching),
                            pulses->gates,
                            {pulses->lost_to_dead_time(0), pulses->lost_to_dead_time(1)}});
    }
    out.seen = total;
    return Done{};
}

Status add_two_gates(const Options& options, Findings& out) {
    const auto counts =
        given("--both, --first, --second", options.both, options.first, options.second);
    if (!counts)
        return counts.error();
    if (*counts && !options.logs.empty())
        return usage("--both", "counts and logs at once", "give one or the other");
    if (*counts)
        out.seen = statistics::TwoObservers{*options.both, *options.first, *options.second};
    if (!options.logs.empty())
        if (const Status status = add_logs(options, out); !status)
            return status;
    if (!out.seen)
        return Done{};
    auto result = two_gates(*out.seen, Confidence{options.confidence}, options.joint_odds);
    if (!result)
        return result.error();
    out.two_gates = *std::move(result);
    out.dependence = dependence(*out.seen, {1.0, 2.0, 5.0, 10.0});
    return Done{};
}

Status add_hand_count(const Options& options, Findings& out) {
    const auto asked = given("--dropped, --seen", options.dropped, options.seen);
    if (!asked)
        return asked.error();
    if (!*asked)
        return Done{};
    auto result =
        efficiency_of(HandCount{*options.dropped, *options.seen}, Confidence{options.confidence});
    if (!result)
        return result.error();
    out.hand_count = *std::move(result);
    return Done{};
}

Weighing weighing_of(const Options& options) {
    return {*options.mass_g, *options.mass_u_g, *options.thousand_g, *options.thousand_u_g,
            *options.pulses};
}

Status add_weighing(const Options& options, Findings& out) {
    const auto asked =
        given("--mass-g, --mass-u-g, --thousand-g, --thousand-u-g, --pulses", options.mass_g,
              options.mass_u_g, options.thousand_g, options.thousand_u_g, options.pulses);
    if (!asked)
        return asked.error();
    if (!*asked)
        return Done{};
    auto result = efficiency_of(weighing_of(options), Confidence{options.confidence});
    if (!result)
        return result.error();
    out.weighing = *std::move(result);
    return Done{};
}

constexpr const char* two_gates_name = "Two gates";

std::vector<Way> ways_of(const Findings& found, bool first) {
    std::vector<Way> ways;
    if (found.two_gates)
        if (const auto& two =
                first ? found.two_gates->first_efficiency : found.two_gates->second_efficiency)
            ways.push_back({two_gates_name, *two});
    if (found.hand_count)
        ways.push_back({"Hand count", *found.hand_count});
    if (found.weighing)
        ways.push_back({"Weighing", found.weighing->efficiency});
    return ways;
}

Result<Findings> find(const Options& options) {
    if (const Status level = check_confidence(options.confidence); !level)
        return level.error();
    const auto gate = value_named(gate_words, options.seen_by);
    if (!gate)
        return usage("--seen-by", fmt::format("'{}' is no gate", options.seen_by),
                     "first (gate 0) or second (gate 1)");
    Findings out;
    out.gate = *gate;
    for (const auto add : {add_two_gates, add_hand_count, add_weighing})
        if (const Status status = add(options, out); !status)
            return status.error();
    if (!out.two_gates && !out.hand_count && !out.weighing)
        return usage("LOG", "nothing to go by",
                     "logs, or counts of two gates, a hand count or a weighing");
    const bool first = out.gate == SeenBy::first;
    const std::vector<Way> ways = ways_of(out, first);
    out.comparison = compare(ways);
    if (out.two_gates)
        for (const Way& way : ways)
            if (way.name != two_gates_name)
                if (auto implied = implied_dependence(*out.seen, first, way.efficiency))
                    out.implied.emplace_back(way.name, *std::move(implied));
    return out;
}

struct Chosen {
    std::optional<statistics::Estimate> efficiency;
    EfficiencySource source;
};

// Of several ways the most direct: a count by hand, then a weighing, then what two gates say of
// each other.
Chosen most_direct(const Options& options, const Findings& found, bool first) {
    if (found.hand_count)
        return {found.hand_count,
                {FoundBy::hand_count,
                 "All seeds that were counted by hand fell through the gate's beam.",
                 HandCount{*options.dropped, *options.seen}}};
    if (found.weighing)
        return {found.weighing->efficiency,
                {FoundBy::weighing,
                 "All seeds that were weighed fell through the gate's beam, and "
                 "the thousand-seed mass is theirs.",
                 weighing_of(options)}};
    if (!found.two_gates)
        return {};
    return {first ? found.two_gates->first_efficiency : found.two_gates->second_efficiency,
            {FoundBy::two_gates, found.two_gates->assumption,
             TwoGateCount{*found.seen, options.joint_odds}}};
}

// By two gates, the channels of the logs that were matched.
WrittenFrom written_from(const Options& options, const Findings& found, FoundBy found_by) {
    WrittenFrom from{options.logs, {}, {}, {}};
    if (!found.logs.empty())
        from.channel = found.logs.front().channel;
    if (found_by != FoundBy::two_gates)
        return from;
    from.tables = options.records;
    for (const MatchedLog& log : found.logs)
        from.matched.push_back(log.channel);
    return from;
}

Status write(const Options& options, const Findings& found) {
    if (!options.record.write)
        return Done{};
    for (const Comparison& pair : found.comparison)
        if (!pair.agree)
            return usage("--write", pair.words,
                         "find out which one is wrong, then calibrate by the right ones");
    const bool first = found.gate == SeenBy::first;
    for (const MatchedLog& log : found.logs)
        if (const std::string& doubt = log.matching.doubts.at(first ? 0 : 1); !doubt.empty())
            return usage("--write", fmt::format("{}: {}", log.file, doubt),
                         "clean both gates, look at their contacts, and run again; where seeds "
                         "fall in pairs, give --calibration with pulse classes");
    auto [efficiency, source] = most_direct(options, found, first);
    if (!efficiency)
        return usage("--write", "this gate's efficiency is not known",
                     "the other gate must have seen seeds");
    efficiency->value = std::min(1.0, efficiency->value);
    calibration::Record record;
    record.holds_for.gate = first ? 0 : 1;
    record.efficiency = *std::move(efficiency);
    const WrittenFrom from = written_from(options, found, source.found_by);
    record.efficiency_source = std::move(source);
    tell("the record is for gate {} ({}); --seen-by {} writes the other's\n", first ? 0 : 1,
         first ? "the unit's own sensor" : "the bench's reference",
         row_in(gate_words, first ? SeenBy::second : SeenBy::first).key);
    return write_record(options.record, std::move(record), from);
}

int status_of(const Findings& found) {
    constexpr int disagree = 2;
    const auto& pairs = found.comparison;
    const bool all_agree =
        std::all_of(pairs.begin(), pairs.end(), [](const Comparison& pair) { return pair.agree; });
    return all_agree ? 0 : disagree;
}

bool counts_or_weighs(const Options& options) {
    return options.dropped || options.seen || options.mass_g || options.pulses;
}

Result<AllFindings> find_all(const Options& options) {
    if (const Status possible = check_for_all(options.for_all, options.record); !possible)
        return possible.error();
    if (const Status fit = fit_logs(options.logs, options.record); !fit)
        return fit.error();
    auto all = found_of_units<Findings>(options, find);
    if (all && all->several && counts_or_weighs(options))
        return usage("--dropped", "a count or a weighing is of one unit, and the log has several",
                     "say which with --channel");
    return all;
}

Status write_all(const Options& options, const AllFindings& all) {
    std::vector<std::string> records;
    for (const auto& [unit, found] : all.units) {
        Options own = options;
        if (!unit.unit.empty())
            own.channel = unit.channel;
        if (all.several) {
            auto record = record_of_unit(options.record, unit);
            if (!record)
                return record.error();
            own.record = *std::move(record);
        }
        if (const Status written = write(own, found); !written)
            return written;
        if (own.record.write)
            records.push_back(*own.record.write);
    }
    if (const Status entered = enter_in_book(options.for_all, records); !entered)
        return entered;
    return set_calibrations(options.for_all, records);
}

int status_of_all(const AllFindings& all) {
    return status_of_units(all, status_of);
}

} // namespace

void add_calibrate_efficiency(Command& calibrate) {
    const auto options = std::make_shared<Options>();
    Command command =
        calibrate.subcommand("efficiency", "how many of the falling seeds a gate counts");
    add_write_options(command, options->record);
    add_for_all_options(command, options->for_all);
    command.option("LOG", options->logs, "droplogs of channels with gates 0 and 1")
        .option("--channel", options->channel, "only this channel; all of them where not said")
        .repeated("--calibration", options->records,
                  "record whose pulse classes tell seeds from dust in the logs")
        .flag("--calibration-anyway", options->anyway,
              "take a record that is for another unit, bench or crop")
        .option("--both", options->both, "seeds that both gates saw")
        .option("--first", options->first, "seeds that the first gate saw, matched or not")
        .option("--second", options->second, "seeds that the second gate saw, matched or not")
        .option("--dropped", options->dropped, "hand count: seeds dropped through the gate")
        .option("--seen", options->seen, "hand count: pulses of the gate")
        .option("--mass-g", options->mass_g, "weighing: caught mass")
        .option("--mass-u-g", options->mass_u_g, "its standard uncertainty")
        .option("--thousand-g", options->thousand_g, "weighing: thousand-seed mass")
        .option("--thousand-u-g", options->thousand_u_g, "its standard uncertainty")
        .option("--pulses", options->pulses, "weighing: pulses of the gate")
        .option("--seen-by", options->seen_by,
                "the gate of hand count, weighing and record: first (gate 0) or second (gate 1)")
        .option("--joint-odds", options->joint_odds,
                "two gates: a seed that one overlooks escapes the other with at most so many times "
                "the odds; the intervals hold up to that (1: gates independent)")
        .option("--confidence", options->confidence, "two-sided confidence level")
        .manual("calibrate_efficiency");
    answers(command, options,
            Answer<Options, AllFindings>{.find = find_all,
                                         .json = json_of_all,
                                         .text = text_of_all,
                                         .status = status_of_all,
                                         .keep = write_all});
}

} // namespace dropledger::cli
