#include "bench/commands/run/run.hpp"

#include "analysis/base/shell_word.hpp"
#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/run/diagnostics.hpp"
#include "bench/commands/run/interrupts.hpp"
#include "bench/commands/run/run_job.hpp"
#include "bench/commands/run/run_options.hpp"
#include "bench/commands/run/run_output.hpp"
#include "bench/commands/run/run_ports.hpp"
#include "bench/commands/run/run_screen.hpp"
#include "bench/commands/run/run_verdict.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/run_counter.hpp"
#include "bench/link/transport.hpp"
#include "bench/recorder/probe.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <memory>

namespace dropledger::cli {

namespace {

Result<std::string> port_of(const RunOptions& options) {
    if (options.port)
        return *options.port;
    return usage("--port", "missing: say where the bench is",
                 "dropledger run --list-ports shows the ports");
}

void obey(std::optional<verdict::StoppingTests>& tests, recorder::Hooks& hooks) {
    if (!tests)
        return;
    hooks.settled = [&tests, also = hooks.settled](const recorder::Settled& drop) {
        tests->add(drop.channel, drop.miss, drop.over);
        also(drop);
    };
    hooks.stop = [&tests](const recorder::LiveTally&) {
        return tests->decided() ? std::optional<std::string>{"decided"} : std::nullopt;
    };
    hooks.last_remarks = [&tests] { return verdict::remarks_of(tests->decisions()); };
}

recorder::Hooks hooks_for(RunScreen& screen) {
    recorder::Hooks hooks;
    hooks.interrupts = interrupts_so_far;
    hooks.progress = [&screen](const recorder::LiveTally& tally) { screen.show(tally); };
    hooks.say = [&screen](const std::string& text) { screen.say(text); };
    hooks.settled = [&screen](const recorder::Settled& drop) { screen.settled(drop); };
    hooks.channel_name = [&screen](int channel) { return screen.unit_name(channel); };
    return hooks;
}

// What the operator lets this process do.
struct Permission {
    std::optional<recorder::StartConfirmed> start;
    bool closes_unfinished = false; // drops that are left are not made
};

constexpr const char* go_on_question =
    "Go on and start the motors for the rest? Type yes (or close, to fetch and close the log): ";

Result<Permission> permission_for(const Job& job, const RunOptions& options,
                                  recorder::Clock& clock) {
    if (!job.may_start)
        return Permission{};
    if (job.was_started && !options.yes && !is_asked())
        return Permission{.start = std::nullopt, .closes_unfinished = true};
    if (job.was_started)
        tell("{}\n", job.left);
    print_cautions();
    const recorder::StartPrompt prompt(clock);
    if (options.yes)
        return Permission{prompt.told_beforehand(), false};
    const auto answer = answer_at_terminal(job.was_started ? go_on_question : start_question);
    if (job.was_started && answer == "close")
        return Permission{.start = std::nullopt, .closes_unfinished = true};
    auto confirmed = prompt.ask([&] { return answer; });
    if (!confirmed)
        return confirmed.error();
    return Permission{std::move(*confirmed), false};
}

// The recorder knows the log, not how its bench is reached: what it says is made a command to copy.
Error with_whole_command(Error error, const std::string& port) {
    constexpr std::string_view field = "`resume` ";
    const std::size_t at = error.remedy.find(field);
    if (at != std::string::npos)
        error.remedy.replace(at, field.size(),
                             fmt::format("dropledger run --port {} --resume ", shell_word(port)));
    return error;
}

// Before a person is asked: whether there is a bench, and whether it has the channels.
Status look_at_bench(const Job& job, const std::string& port, const RunOptions& options,
                     recorder::Clock& clock) {
    constexpr Microseconds patience{4'000'000}; // a controller that its port resets takes 2 s
    auto link =
        link::open_transport(port, static_cast<int>(options.baud.value_or(link::default_baud)));
    if (!link)
        return link.error();
    const auto answer = recorder::probe(**link, clock, patience);
    if (!answer)
        return device_error(port, "no bench answers there",
                            "check power, cable and baud rate; `list_ports` shows the ports");
    const auto lacking = recorder::lacking_channels(job.plan.order.channel_mask, answer->channels);
    return lacking ? Status{*lacking} : Status{Done{}};
}

Result<int> carry_out(Job& job, const std::string& port, const RunOptions& options,
                      recorder::Clock& clock) {
    const int baud = static_cast<int>(options.baud.value_or(link::default_baud));
    const recorder::Bench bench{[&] { return link::open_transport(port, baud); }, clock};
    RunScreen screen(clock, {job.plan.order, job.channels, job.profile});
    std::optional<verdict::StoppingTests> tests;
    if (job.rule)
        tests.emplace(*job.rule, job.plan.order.channel_mask);
    recorder::Hooks hooks = hooks_for(screen);
    obey(tests, hooks);
    if (options.yes)
        hooks.confirm_again = [&clock]() -> std::optional<recorder::StartConfirmed> {
            return recorder::StartPrompt(clock).told_beforehand();
        };
    heed_signals();
    const auto detail = [&](const std::string& text) {
        note_detail(text);
        if (options.verbose)
            screen.say(text);
    };
    detail(fmt::format("port {}, {} baud, log {}, {} mode, {} drops, channel mask {}{}", port, baud,
                       job.log, droplog::name_of(job.plan.order.mode), job.plan.order.drops,
                       job.plan.order.channel_mask, job.goes_on ? ", gone on with" : ""));
    const auto calibration = calibration_in(job.plan);
    const auto work = job.goes_on ? recorder::resume : recorder::record;
    const auto summary = work(std::move(job.plan), job.log, bench, hooks);
    if (!summary) {
        note_detail("ended by: " + summary.error().message());
        return with_whole_command(summary.error(), port);
    }
    detail(fmt::format("end: {}; {} lines taken, {} damaged, {} repeated, {} asked for again",
                       summary->end_reason, summary->counts.taken, summary->counts.damaged,
                       summary->counts.repeated, summary->counts.resends));
    screen.finish(summary->tally);
    job.left_open = summary->left_open;
    const auto decisions = tests ? tests->decisions() : std::vector<verdict::StopDecision>{};
    return deliver_run({*summary, decisions, !job.goes_on, calibration, port}, options.json);
}

// Opened before motors turn, so that what is wrong with it is told then. Null where none was named.
Result<std::unique_ptr<book::Book>> book_of(const RunOptions& options) {
    if (!options.book)
        return std::unique_ptr<book::Book>{};
    auto book = open_book(*options.book, true);
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

// The next number of those that were begun with the key goes into the log.
Status count_run(const std::string& key, recorder::RunPlan& plan) {
    const auto ticket = files::take_run_number(key);
    if (!ticket)
        return ticket.error();
    plan.settings.push_back({"run_number", std::to_string(ticket->number)});
    plan.settings.push_back({"previous_seal", ticket->previous_seal});
    return Done{};
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
    auto job = job_of(options, book->get(), clock);
    if (!job)
        return job.error();
    for (const std::string& sentence : job->says)
        tell("{}\n", sentence);
    if (job->may_start && !job->was_started && !options.yes && is_asked())
        if (const Status fits = look_at_bench(*job, *port, options, clock); !fits)
            return fits.error();
    auto permission = permission_for(*job, options, clock);
    if (!permission)
        return permission.error();
    job->plan.start = std::move(permission->start);
    job->plan.closes_unfinished = permission->closes_unfinished;
    if (options.key && !job->goes_on)
        if (const Status counted = count_run(*options.key, job->plan); !counted)
            return counted.error();
    const auto status = carry_out(*job, *port, options, clock);
    if (options.key && std::filesystem::exists(job->log))
        if (const Status noted = files::note_last_seal(*options.key, job->log); !noted)
            tell("the run counter beside the key was not kept: {}\n", noted.error().message());
    if (*book && !job->left_open && std::filesystem::exists(job->log))
        enter(**book, job->log);
    if (status && !options.json && !job->left_open)
        show_verdict(options, book->get(), job->log);
    return status;
}

} // namespace

void add_run(Program& program) {
    Command command = program.subcommand("run", "record a bench run");
    const auto options = std::make_shared<RunOptions>();
    declare_run_options(command, *options);
    command.manual("run").runs([options] { return run(*options); });
}

} // namespace dropledger::cli
