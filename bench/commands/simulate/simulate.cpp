#include "bench/commands/simulate/simulate.hpp"
#include "bench/commands/simulate/scenarios.hpp"

#include "analysis/base/text.hpp"
#include "analysis/field/input/drops.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/commands/simulate/simulate_field.hpp"
#include "bench/commands/simulate/simulate_leads.hpp"
#include "bench/commands/simulate/simulate_vcd.hpp"
#include "bench/io/key_file.hpp"
#include "bench/io/run_counter.hpp"
#include "bench/io/streamed_file.hpp"
#include "bench/virtual/night.hpp"
#include "bench/virtual/pty_bench.hpp"
#include "bench/virtual/run_log.hpp"

#include <fmt/format.h>

#include <cmath>
#include <csignal>
#include <cstdio>
#include <memory>
#include <tuple>

namespace dropledger::cli {

namespace {

using namespace bench_virtual;

struct Options {
    std::string scenario;
    std::optional<std::string> field;
    std::optional<std::string> log;
    TraceFiles trace; // --vcd
    std::optional<std::int64_t> drops;
    std::optional<double> speed_mps;
    std::optional<std::int64_t> seed;
    std::optional<std::string> started;
    std::optional<std::string> key;
    std::optional<std::string> leads;
    std::optional<std::string> serial;
    std::optional<std::string> truth;
    std::optional<std::string> truth_pulses;
    BenchOptions bench;
    std::vector<std::string> stall_at_s;
    std::vector<std::string> reset_at_s;
    std::vector<std::string> pull_at_s;
    std::vector<std::string> estop_at_s;
    std::vector<std::string> guard_at_s;
    std::int64_t noise_seed = 1;
};

constexpr const char* pulses_header = "boot,seq,channel,gate,seeds";

volatile std::sig_atomic_t stop_signal = 0; // the one thing a signal handler may touch

extern "C" void note_signal(int signal) {
    stop_signal = signal;
}

void catch_signals() {
    struct sigaction action {};
    action.sa_handler = note_signal;
    ::sigaction(SIGINT, &action, nullptr);
    ::sigaction(SIGTERM, &action, nullptr);
}

Result<std::vector<double>> instants(const std::string& option,
                                     const std::vector<std::string>& texts) {
    std::vector<double> seconds;
    for (const std::string& text : texts) {
        const auto value = parse_double(text);
        if (!value || *value < 0.0)
            return usage(option, "\"" + text + "\" is no time", "give seconds, 0 or more");
        seconds.push_back(*value);
    }
    return seconds;
}

// Truths on their way into the files that were asked for.
class TruthFiles {
public:
    Status open(const Options& options) {
        if (Status rows = open_one(options.truth, rows_, truth_header()); !rows)
            return rows;
        return open_one(options.truth_pulses, pulses_, pulses_header);
    }
    void add(const RunTruth& truth) {
        if (rows_)
            rows_->write(truth_row(truth.truth, truth.run) + "\n");
    }
    void add(const PulseTruth& pulse) {
        if (pulses_)
            pulses_->write(fmt::format("{},{},{},{},{}\n", pulse.boot, pulse.seq, pulse.channel,
                                       pulse.gate, pulse.seeds));
    }
    Status finish() {
        for (auto* file : {&rows_, &pulses_})
            if (*file)
                if (Status done = (*file)->finish(); !done)
                    return done;
        return Done{};
    }

private:
    static Status open_one(const std::optional<std::string>& path,
                           std::optional<files::StreamedFile>& file, const std::string& header) {
        if (!path)
            return Done{};
        auto created = files::StreamedFile::create(*path);
        if (!created)
            return created.error();
        file = std::move(*created);
        file->write(header + "\n");
        return Done{};
    }

    std::optional<files::StreamedFile> rows_;
    std::optional<files::StreamedFile> pulses_;
};

Result<Scenario> scenario_of(const std::string& name_or_file) {
    if (is_scenario_file(name_or_file))
        return read_scenario(name_or_file);
    return known_scenario(name_or_file).and_then([&](std::string_view text) {
        return parse_scenario(text, name_or_file);
    });
}

Result<Scenario> chosen_scenario(const Options& options) {
    auto scenario = scenario_of(options.scenario);
    if (!scenario)
        return scenario;
    if (options.drops && (*options.drops < 1 || *options.drops > 1000000000))
        return usage("--drops", fmt::format("{} drops", *options.drops), "give 1 to 1000000000");
    if (options.speed_mps && !(*options.speed_mps >= 0.01 && *options.speed_mps <= 5.0))
        return usage("--speed-mps", fmt::format("{} m/s", *options.speed_mps), "give 0.01 to 5");
    if (options.seed && *options.seed < 0)
        return usage("--seed", "it is negative", "give a whole number, 0 or more");
    scenario->drops = options.drops.value_or(scenario->drops);
    if (options.speed_mps)
        scenario->speed_um_s = std::llround(*options.speed_mps * 1e6);
    if (options.seed)
        scenario->seed = static_cast<std::uint64_t>(*options.seed);
    scenario->serial = options.serial.value_or(scenario->serial);
    if (options.leads)
        if (const Status taken = take_leads(*options.leads, *scenario); !taken)
            return taken.error();
    return scenario;
}

Result<std::int64_t> start_of(const Options& options) {
    if (!options.started)
        return usual_start_s;
    const auto seconds = field::parse_time(*options.started, 0);
    if (!seconds || *seconds < 0.0 || *seconds > 4e9)
        return usage("--started", "\"" + *options.started + "\" is no time",
                     "write 2026-03-20T08:00:00Z");
    return std::llround(*seconds);
}

Result<int> write_log(const Scenario& scenario, const Options& options, TruthFiles& truths) {
    const auto started_s = start_of(options);
    if (!started_s)
        return started_s.error();
    LogSinks sinks;
    if (options.key) {
        const auto key = files::read_key_file(*options.key);
        if (!key)
            return key.error();
        sinks.key = *key;
        const auto ticket = files::take_run_number(*options.key);
        if (!ticket)
            return ticket.error();
        sinks.settings = {{"run_number", std::to_string(ticket->number)},
                          {"previous_seal", ticket->previous_seal}};
    }
    auto log = files::StreamedFile::create(*options.log, files::Place::fresh);
    if (!log)
        return log.error();
    sinks.line = [&log](std::string_view line) { log->write(line); };
    if (options.truth)
        sinks.truth = [&truths](const RunTruth& truth) { truths.add(truth); };
    if (options.truth_pulses)
        sinks.pulse = [&truths](const PulseTruth& pulse) { truths.add(pulse); };
    simulate_log(scenario, sinks, *started_s);
    if (const Status done = log->finish(); !done)
        return done.error();
    if (const Status done = truths.finish(); !done)
        return done.error();
    if (options.key)
        if (const Status noted = files::note_last_seal(*options.key, *options.log); !noted)
            return noted.error();
    tell("simulated {} drops a channel, scenario \"{}\", seed {}: {}\n", scenario.drops,
         scenario.name, scenario.seed, *options.log);
    return 0;
}

Result<int> write_dump(const Scenario& scenario, const Options& options, TruthFiles& truths) {
    TruthSink truth;
    if (options.truth)
        truth = [&truths](const Truth& one) { truths.add({.run = 0, .truth = one}); };
    if (const Status done = write_trace(scenario, options.trace, truth); !done)
        return done.error();
    if (const Status done = truths.finish(); !done)
        return done.error();
    tell("simulated {} drops a channel, scenario \"{}\", seed {}, as an analyser sees them: {}\n",
         scenario.drops, scenario.name, scenario.seed, options.trace.vcd);
    return 0;
}

Result<BenchOptions> bench_options(const Options& options) {
    BenchOptions bench = options.bench;
    LineFaults& faults = bench.faults;
    for (const double rate : {faults.noise.flip, faults.noise.drop})
        if (!(rate >= 0.0 && rate <= 1.0))
            return usage("--flip-rate or --drop-rate", "no share", "give 0 to 1");
    if (!(bench.pace >= 0.0 && bench.pace <= 1e6))
        return usage("--pace", "out of range", "give 0 (as fast as acknowledged) to 1000000");
    const std::tuple<const char*, const std::vector<std::string>&, std::vector<double>&> lists[]{
        {"--stall-at-s", options.stall_at_s, faults.stall_at_s},
        {"--reset-at-s", options.reset_at_s, faults.reset_at_s},
        {"--pull-at-s", options.pull_at_s, faults.pull_at_s},
        {"--estop-at-s", options.estop_at_s, faults.estop_at_s},
        {"--guard-at-s", options.guard_at_s, faults.guard_at_s}};
    for (const auto& [flag, given, into] : lists) {
        auto found = instants(flag, given);
        if (!found)
            return found.error();
        into = *std::move(found);
    }
    faults.seed = static_cast<std::uint64_t>(options.noise_seed);
    bench.pulse_truths = options.truth_pulses.has_value();
    return bench;
}

Result<int> serve_bench(const Scenario& scenario, const Options& options, TruthFiles& truths) {
    const auto bench = bench_options(options);
    if (!bench)
        return bench.error();
    catch_signals();
    BenchHooks hooks;
    Status told = Done{};
    hooks.ready = [&told](const std::string& path) { told = write_standard_output(path + "\n"); };
    hooks.say = [](const std::string& text) { tell("virtual bench: {}\n", text); };
    hooks.stop_asked = [&told] { return stop_signal != 0 || !told; };
    hooks.truth = [&truths](const RunTruth& truth) { truths.add(truth); };
    hooks.pulse = [&truths](const PulseTruth& pulse) { truths.add(pulse); };
    tell("virtual bench: scenario \"{}\", seed {}, {} channels; all of it is invented\n",
         scenario.name, scenario.seed, scenario.channels.size());
    if (const Status served = serve(scenario, *bench, hooks); !served)
        return served.error();
    if (!told)
        return told.error();
    if (const Status done = truths.finish(); !done)
        return done.error();
    return 0;
}

// Before the work begins: nothing that is there is lost, and no two files are one.
Status check_files(const Options& options) {
    using files::FileKind;
    Outputs outputs;
    outputs.reads(options.key)
        .reads(options.leads)
        .writes("--field", options.field, FileKind::csv, std::string(night_header))
        .writes("--log", options.log, FileKind::droplog)
        .writes("--truth", options.truth, FileKind::csv,
                options.field ? std::string(night_truth_header) : truth_header())
        .writes("--truth-pulses", options.truth_pulses, FileKind::csv, pulses_header);
    if (!options.scenario.empty() && is_scenario_file(options.scenario))
        outputs.reads(options.scenario);
    return outputs.check();
}

Status check_together(const Options& options) {
    if (options.field && (!options.scenario.empty() || options.log))
        return usage("--field", "a night needs no scenario and no log",
                     "leave --scenario and --log out");
    if (!options.trace.vcd.empty() && (options.field || options.log || options.truth_pulses))
        return usage("--vcd", "a dump is written by itself",
                     "leave --field, --log and --truth-pulses out");
    if (options.trace.vcd.empty() && (options.trace.wiring || options.trace.settings))
        return usage("--vcd", "missing: wiring and settings belong to a dump", "name its file");
    if (options.field && options.seed.value_or(1) < 0)
        return usage("--seed", "it is negative", "give a whole number, 0 or more");
    return Done{};
}

Result<int> simulate(const Options& options) {
    if (const Status allowed = check_files(options); !allowed)
        return allowed.error();
    if (const Status fit = check_together(options); !fit)
        return fit.error();
    if (options.field)
        return write_night(
            {*options.field, options.truth, static_cast<std::uint64_t>(options.seed.value_or(1))});
    if (options.scenario.empty())
        return usage("--scenario", "nothing to simulate", "name a scenario, or --field FILE.csv");
    const auto scenario = chosen_scenario(options);
    if (!scenario)
        return scenario.error();
    TruthFiles truths;
    if (const Status opened = truths.open(options); !opened)
        return opened.error();
    if (!options.trace.vcd.empty())
        return write_dump(*scenario, options, truths);
    return options.log ? write_log(*scenario, options, truths)
                       : serve_bench(*scenario, options, truths);
}

void add_line_faults(Command& command, Options& options) {
    LineFaults& faults = options.bench.faults;
    command.option("--flip-rate", faults.noise.flip, "share of bytes with a flipped bit, both ways")
        .option("--drop-rate", faults.noise.drop, "share of bytes lost, both ways")
        .option("--stall-at-s", options.stall_at_s, "nothing passes for a while from here on")
        .option("--stall-ms", faults.stall_ms, "length of a stall")
        .option("--reset-at-s", options.reset_at_s, "the controller boots anew")
        .option("--pull-at-s", options.pull_at_s, "the cable is pulled for a while")
        .option("--pull-ms", faults.pull_ms, "how long the cable is out")
        .option("--estop-at-s", options.estop_at_s, "the emergency stop is pressed")
        .option("--guard-at-s", options.guard_at_s, "a guard is opened")
        .option("--noise-seed", options.noise_seed, "seed of the line's random faults");
}

} // namespace

void declare_simulate(Command command) {
    const auto options = std::make_shared<Options>();
    command
        .option("--scenario", options->scenario,
                "a scenario that comes with the program, or a scenario file (NAME.toml)")
        .option("--field", options->field,
                "write a night of three fields with known faults here (CSV) instead")
        .option("--log", options->log, "write a whole log here instead of serving a port")
        .option("--vcd", options->trace.vcd,
                "write what a logic analyser would see here (value change dump) instead")
        .option("--wiring", options->trace.wiring, "with --vcd: write the wiring that fits here")
        .option("--settings", options->trace.settings,
                "with --vcd: write settings that fit here (TOML)")
        .option("--drops", options->drops,
                "commanded drops per channel (line mode: seeds aimed at), with --log or --vcd")
        .option("--speed-mps", options->speed_mps,
                "travel speed instead of the scenario's, with --log")
        .option("--seed", options->seed, "seed instead of the scenario's")
        .option("--started", options->started,
                "with --log: when the run is said to have begun (RFC 3339)")
        .option("--key", options->key, "with --log: key file that signs the log")
        .option("--leads", options->leads,
                "settings file whose leads are set in this bench, as a real one is flashed with")
        .option("--serial", options->serial,
                "serial by which this bench is told from another of its kind; the scenario's "
                "where not said")
        .option("--truth", options->truth, "file for what really happened (CSV)")
        .option("--truth-pulses", options->truth_pulses, "file for the seeds in each pulse (CSV)")
        .option("--link", options->bench.link, "make a link to the port under this name")
        .option("--pace", options->bench.pace,
                "times real time; 0: as fast as the host acknowledges")
        .flag("--lossy", options->bench.lossy,
              "let lines be LOST when the host lags behind a fast pace")
        .flag("--once", options->bench.once, "leave after one run, or when the host stays away")
        .option("--away-s", options->bench.away_s,
                "with --once: leave when the host stays away this long");
    add_line_faults(command, *options);
    command.manual("simulate").runs([options] { return simulate(*options); });
}

} // namespace dropledger::cli
