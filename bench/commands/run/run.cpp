#include "bench/commands/run/run.hpp"

#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/run/diagnostics.hpp"
#include "bench/commands/run/run_calibration.hpp"
#include "bench/commands/run/run_fields.hpp"
#include "bench/commands/run/run_options.hpp"
#include "bench/commands/run/run_ports.hpp"
#include "bench/commands/run/run_screen.hpp"
#include "bench/commands/run/stop_rule.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/key_file.hpp"
#include "bench/link/transport.hpp"
#include "bench/recorder/protocol/recovery.hpp"
#include "bench/recorder/recorder.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <array>
#include <atomic>
#include <csignal>
#include <ctime>
#include <filesystem>
#include <memory>
#include <random>

namespace dropledger::cli {

namespace {

constexpr int exit_done = 0;
constexpr int exit_incomplete = 2;

// The one thing that a signal handler may touch, on whichever thread it is called.
std::atomic<int> interrupts = 0; // NOLINT: no other way out of a handler
static_assert(std::atomic<int>::is_always_lock_free);

extern "C" void count_interrupt(int) {
    ++interrupts;
}

void heed_signals() {
    for (const int signal : {SIGINT, SIGTERM, SIGHUP, SIGQUIT})
        std::signal(signal, count_interrupt);
    std::signal(SIGXFSZ, SIG_IGN); // a file too large is told by write()
    std::signal(SIGPIPE, SIG_IGN); // nobody looks any more; the run goes on
}

std::string random_uuid() {
    std::random_device source;
    std::array<unsigned, 4> words{};
    for (unsigned& word : words)
        word = source();
    words[1] = (words[1] & 0xFFFF0FFFU) | 0x4000U; // version 4, variant 1
    words[2] = (words[2] & 0x3FFFFFFFU) | 0x80000000U;
    return fmt::format("{:08x}-{:04x}-{:04x}-{:04x}-{:04x}{:08x}", words[0], words[1] >> 16U,
                       words[1] & 0xFFFFU, words[2] >> 16U, words[2] & 0xFFFFU, words[3]);
}

std::string log_name(const RunOptions& options, recorder::Clock& clock) {
    const auto now = static_cast<std::time_t>(clock.unix_us() / 1'000'000);
    return options.log.value_or(fmt::format("run-{:%Y%m%dT%H%M%SZ}.droplog", fmt::gmtime(now)));
}

Result<std::string> port_of(const RunOptions& options) {
    if (options.port)
        return *options.port;
    return usage("--port", "missing: say where the bench is",
                 "dropledger run --list-ports shows the ports");
}

nlohmann::json as_json(const std::vector<Decided>& decisions) {
    nlohmann::json list = nlohmann::json::array();
    for (const Decided& each : decisions)
        list.push_back({{"channel", each.channel},
                        {"criterion", each.what},
                        {"decision", verdict::name_of(each.decision)},
                        {"drops", each.drops},
                        {"hits", each.hits}});
    return list;
}

// As the log of a new run names it; null where none is in force.
nlohmann::json calibration_of(const recorder::RunPlan& plan) {
    for (const recorder::Setting& one : plan.settings)
        if (one.key == "calibration")
            return one.value;
    return nullptr;
}

nlohmann::json json_of(const recorder::RunSummary& summary, const std::vector<Decided>& decisions,
                       const std::optional<nlohmann::json>& calibration) {
    nlohmann::json channels = nlohmann::json::array();
    for (const auto& [channel, tally] : summary.tally.channels())
        channels.push_back({{"channel", channel},
                            {"drops", tally.drops},
                            {"miss", tally.miss},
                            {"short", tally.short_of},
                            {"exact", tally.exact},
                            {"over", tally.over},
                            {"pulses", tally.pulses}});
    nlohmann::json object{{"schema", "dropledger/run/1"},
                          {"log", summary.log},
                          {"end_reason", summary.end_reason},
                          {"as_planned", summary.as_planned},
                          {"provisional", true},
                          {"channels", channels},
                          {"decisions", as_json(decisions)},
                          {"lines",
                           {{"taken", summary.counts.taken},
                            {"damaged", summary.counts.damaged},
                            {"repeated", summary.counts.repeated},
                            {"conflicting", summary.counts.conflicting},
                            {"lost", summary.counts.lost},
                            {"resends", summary.counts.resends},
                            {"given_up", summary.conceded}}}};
    if (calibration)
        object["calibration"] = *calibration;
    return object;
}

std::string text_of(const recorder::RunSummary& summary, const std::vector<Decided>& decisions) {
    TextPage page;
    for (const Decided& each : decisions)
        page.add("{}\n", in_words(each));
    if (!summary.as_planned)
        page.add("The run did not go as planned; it ended: {}\n", summary.end_reason);
    for (const auto& [channel, drops] : summary.remainder)
        page.add("channel {}: {} drops were not made\n", channel, drops);
    if (summary.counts.conflicting > 0)
        page.add("{} lines came again as other lines: what the controller says contradicts "
                 "itself, this run cannot pass\n",
                 summary.counts.conflicting);
    if (summary.counts.damaged > 0)
        page.add("{} damaged lines came over the wire and were asked for again; check the cable\n",
                 summary.counts.damaged);
    if (summary.conceded > 0)
        page.add("{} lines are lost for good: this run is incomplete and cannot pass\n",
                 summary.conceded);
    page.add("log: {}\naudit it with: dropledger audit {}\n", summary.log, summary.log);
    return page.text();
}

void obey(std::optional<StopRule>& rule, recorder::Hooks& hooks) {
    if (!rule)
        return;
    hooks.settled = [&rule](const recorder::Settled& drop) { rule->settled(drop); };
    hooks.stop = [&rule](const recorder::LiveTally&) { return rule->reason(); };
    hooks.last_remarks = [&rule] { return rule->remarks(); };
}

recorder::Hooks hooks_for(RunScreen& screen) {
    recorder::Hooks hooks;
    hooks.interrupts = [] { return interrupts.load(); };
    hooks.progress = [&screen](const recorder::LiveTally& tally) { screen.show(tally); };
    hooks.say = [&screen](const std::string& text) { screen.say(text); };
    return hooks;
}

Result<recorder::StartConfirmed> ask_to_start(const RunOptions& options, recorder::Clock& clock) {
    print_cautions();
    const recorder::StartPrompt prompt(clock);
    if (options.yes)
        return prompt.told_beforehand();
    return prompt.ask(answer_at_terminal);
}

// A new run, or one gone on with: what both need to know.
struct Job {
    recorder::RunPlan plan;
    std::string log;
    bool goes_on = false;
    bool may_start = true; // motors; else what is on is listened to, or what has ended is closed
    std::optional<verdict::StoppingRule> rule; // by which the run may stop itself
    std::vector<std::string> says;             // of its calibration, before the motors start
};

std::string day_of(recorder::Clock& clock) {
    return fmt::format("{:%Y-%m-%d}",
                       fmt::gmtime(static_cast<std::time_t>(clock.unix_us() / 1'000'000)));
}

Result<Job> new_job(RunOptions options, const book::Book* book, recorder::Clock& clock) {
    std::optional<verdict::StoppingRule> rule;
    if (options.until_decided) {
        auto asked = rule_of(options);
        if (!asked)
            return asked.error();
        rule = *std::move(asked);
        options.drops = rule->most;
    }
    auto plan = plan_of(options);
    if (!plan)
        return plan.error();
    plan->run_id = random_uuid();
    if (rule)
        plan->remarks = verdict::remarks_of(*rule);
    auto says = calibrate_plan(options, book, day_of(clock), *plan);
    if (!says)
        return says.error();
    return Job{std::move(*plan), log_name(options, clock), false, true,
               std::move(rule),  *std::move(says)};
}

// What a resumed run takes from its log, so that it cannot be given again.
Status only_what_resume_takes(const RunOptions& options) {
    const bool others = options.mode || options.spacing_mm || options.count || options.rate_per_m ||
                        options.speed_mps || options.drops || options.until_decided ||
                        options.log || options.calibration || options.channels ||
                        options.channel_mask || !options.unit.empty() ||
                        !options.channel_set.empty() || !options.set.empty();
    if (others)
        return usage(
            "--resume", "given together with the settings of a new run",
            "a resumed run keeps those of its log: give --port, --baud, --key and --yes only");
    return Done{};
}

Result<Job> old_job(const RunOptions& options) {
    const std::string& log = *options.resume;
    if (const Status fits = only_what_resume_takes(options); !fits)
        return fits.error();
    auto found =
        recorder::recover(log); // only to say early what is wrong with it; read again under lock
    if (!found)
        return found.error();
    recorder::RunPlan plan;
    plan.order = found->order;
    auto stated = verdict::stated_rule(found->remarks);
    const bool tested = stated.rule.tests_anything();
    return Job{std::move(plan),
               log,
               true,
               !found->started && !found->ended(),
               tested ? std::optional{std::move(stated.rule)} : std::nullopt,
               {}};
}

Result<int> carry_out(Job& job, const std::string& port, const RunOptions& options,
                      recorder::Clock& clock) {
    const int baud = static_cast<int>(options.baud.value_or(link::default_baud));
    const recorder::Bench bench{[&] { return link::open_transport(port, baud); }, clock};
    RunScreen screen(clock, job.plan.order.drops, job.plan.order.mode);
    std::optional<StopRule> rule;
    if (job.rule)
        rule.emplace(*job.rule, job.plan.order.channel_mask);
    recorder::Hooks hooks = hooks_for(screen);
    obey(rule, hooks);
    heed_signals();
    const auto detail = [&](const std::string& text) {
        note_detail(text);
        if (options.verbose)
            screen.say(text);
    };
    detail(fmt::format("port {}, {} baud, log {}, {} mode, {} drops, channel mask {}{}", port, baud,
                       job.log, job.plan.order.mode, job.plan.order.drops,
                       job.plan.order.channel_mask, job.goes_on ? ", gone on with" : ""));
    const auto calibration = calibration_of(job.plan);
    const auto work = job.goes_on ? recorder::resume : recorder::record;
    const auto summary = work(std::move(job.plan), job.log, bench, hooks);
    if (!summary) {
        note_detail("ended by: " + summary.error().message());
        return summary.error();
    }
    detail(fmt::format("end: {}; {} lines taken, {} damaged, {} repeated, {} asked for again",
                       summary->end_reason, summary->counts.taken, summary->counts.damaged,
                       summary->counts.repeated, summary->counts.resends));
    screen.finish(summary->tally);
    const std::vector<Decided> decisions = rule ? rule->decisions() : std::vector<Decided>{};
    const int status = summary->as_planned ? exit_done : exit_incomplete;
    if (!options.json)
        return deliver_text(text_of(*summary, decisions), status);
    return deliver_json(
        json_of(*summary, decisions, job.goes_on ? std::nullopt : std::optional{calibration}),
        status);
}

// Opened before motors turn, so that what is wrong with it is told then. Null where none was named.
Result<std::unique_ptr<book::Book>> book_of(const RunOptions& options) {
    if (!options.book)
        return std::unique_ptr<book::Book>{};
    auto book = book::Book::open(*options.book, true);
    if (!book)
        return book.error();
    return std::make_unique<book::Book>(*std::move(book));
}

// The log is the truth and is safe: a book that cannot be written is told, and changes nothing
// else.
void enter(book::Book& book, const std::string& log) {
    const auto added = book::add(book, {log}, profile_chooser(std::nullopt));
    if (added)
        tell("entered in the book {}\n", book.file());
    else
        tell("not entered in the book: {}\n", added.error().message());
}

Result<int> run(RunOptions options) {
    if (options.settings)
        if (const Status added = add_settings_file(*options.settings, options); !added)
            return added.error();
    if (options.list_ports)
        return list_serial_ports(options);
    if (const Status opened = open_diagnostics(options.diagnostics); !opened)
        return opened.error();
    recorder::SystemClock clock;
    const auto port = port_of(options);
    if (!port)
        return port.error();
    const auto book = book_of(options);
    if (!book)
        return book.error();
    auto job = options.resume ? old_job(options) : new_job(options, book->get(), clock);
    if (!job)
        return job.error();
    for (const std::string& sentence : job->says)
        tell("{}\n", sentence);
    if (options.key) {
        const auto key = files::read_key_file(*options.key);
        if (!key)
            return key.error();
        job->plan.key = *key;
    }
    job->plan.discard_held = options.discard_held;
    if (job->may_start) {
        auto confirmed = ask_to_start(options, clock);
        if (!confirmed)
            return confirmed.error();
        job->plan.start = std::move(*confirmed);
    }
    const auto status = carry_out(*job, *port, options, clock);
    if (*book && std::filesystem::exists(job->log))
        enter(**book, job->log);
    return status;
}

void declare_run_options(Command& command, RunOptions& options) {
    for (const RunField& field : run_fields()) {
        std::string name = "--" + std::string(field.name);
        std::replace(name.begin(), name.end(), '_', '-');
        std::visit([&](const auto member) { command.option(name, options.*member, field.help); },
                   field.target);
    }
    command
        .flag("--calibration-anyway", options.calibration_anyway,
              "take the calibration even where it is for another unit, gate, bench or crop")
        .option("--log", options.log,
                "log to write (default run-TIME.droplog here); never overwritten")
        .option("--key", options.key, "key file (`batch key`) that signs the log at its end")
        .option("--settings", options.settings,
                "TOML file with [run] and [[channel]]; options go over it");
}

void declare_channel_options(Command& command, RunOptions& options) {
    command
        .option("--unit", options.unit,
                "serial number of a unit, once per channel: CH=SERIAL, or SERIAL in order")
        .option("--channel-mask", options.channel_mask, "the same as a number: bit N is channel N")
        .option("--cells", options.cells, "cells of the metering disc, all channels")
        .option("--lead-us", options.lead_us, "valve lead in force, all channels")
        .option("--gate-place", options.gate_place,
                "the unit's own sensor: above or below the valve")
        .option("--gate-fall-us", options.gate_fall_us,
                "flight time from that sensor to the ground")
        .option("--gate-dead-us", options.gate_dead_us,
                "how long that sensor is blind after a pulse")
        .option("--channel-set", options.channel_set,
                "one channel's setting, CH:KEY=VALUE; goes over the above")
        .option("--set", options.set, "a further setting for the log, KEY=VALUE");
}

} // namespace

void add_run(Program& program) {
    Command command = program.subcommand("run", "record a bench run");
    const auto options = std::make_shared<RunOptions>();
    declare_run_options(command, *options);
    declare_channel_options(command, *options);
    command.option("--resume", options->resume, "go on with the run of this log")
        .flag(
            "--until-decided", options->until_decided,
            "stop as soon as misses and multiples are decided by the profile's [sequential] levels")
        .flag("--yes", options->yes, "the cautions are heeded: start without asking")
        .flag("--discard-held", options->discard_held,
              "give up what the controller still holds of an earlier run")
        .flag("--list-ports", options->list_ports, "show the serial ports and end")
        .flag("--probe", options->probe, "with --list-ports: ask each port whether a bench answers")
        .option("--diagnostics", options->diagnostics,
                "file for what goes on, with details; turns over at 5 MB")
        .flag("--verbose", options->verbose, "details on standard error too")
        .flag("--json", options->json, "machine-readable result on standard output")
        .manual("run");
    command.runs([options] { return run(*options); });
}

} // namespace dropledger::cli
