#include "bench/commands/run/run.hpp"

#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/run/diagnostics.hpp"
#include "bench/commands/run/run_job.hpp"
#include "bench/commands/run/run_options.hpp"
#include "bench/commands/run/run_output.hpp"
#include "bench/commands/run/run_ports.hpp"
#include "bench/commands/run/run_screen.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/run_counter.hpp"
#include "bench/link/transport.hpp"

#include <fmt/format.h>

#include <atomic>
#include <csignal>
#include <filesystem>
#include <memory>

namespace dropledger::cli {

namespace {

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

Result<std::string> port_of(const RunOptions& options) {
    if (options.port)
        return *options.port;
    return usage("--port", "missing: say where the bench is",
                 "dropledger run --list-ports shows the ports");
}

void obey(std::optional<verdict::StoppingTests>& tests, recorder::Hooks& hooks) {
    if (!tests)
        return;
    hooks.settled = [&tests](const recorder::Settled& drop) {
        tests->add(drop.channel, drop.miss, drop.over);
    };
    hooks.stop = [&tests](const recorder::LiveTally&) {
        return tests->decided() ? std::optional<std::string>{"decided"} : std::nullopt;
    };
    hooks.last_remarks = [&tests] { return verdict::remarks_of(tests->decisions()); };
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

Result<int> carry_out(Job& job, const std::string& port, const RunOptions& options,
                      recorder::Clock& clock) {
    const int baud = static_cast<int>(options.baud.value_or(link::default_baud));
    const recorder::Bench bench{[&] { return link::open_transport(port, baud); }, clock};
    RunScreen screen(clock, job.plan.order.drops, job.plan.order.mode);
    std::optional<verdict::StoppingTests> tests;
    if (job.rule)
        tests.emplace(*job.rule, job.plan.order.channel_mask);
    recorder::Hooks hooks = hooks_for(screen);
    obey(tests, hooks);
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
        return summary.error();
    }
    detail(fmt::format("end: {}; {} lines taken, {} damaged, {} repeated, {} asked for again",
                       summary->end_reason, summary->counts.taken, summary->counts.damaged,
                       summary->counts.repeated, summary->counts.resends));
    screen.finish(summary->tally);
    const auto decisions = tests ? tests->decisions() : std::vector<verdict::StopDecision>{};
    return deliver_run({*summary, decisions, !job.goes_on, calibration}, options.json);
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
    auto job = job_of(options, book->get(), clock);
    if (!job)
        return job.error();
    for (const std::string& sentence : job->says)
        tell("{}\n", sentence);
    if (job->may_start) {
        auto confirmed = ask_to_start(options, clock);
        if (!confirmed)
            return confirmed.error();
        job->plan.start = std::move(*confirmed);
    }
    if (options.key && !job->goes_on) {
        const auto ticket = files::take_run_number(*options.key);
        if (!ticket)
            return ticket.error();
        job->plan.settings.push_back({"run_number", std::to_string(ticket->number)});
        job->plan.settings.push_back({"previous_seal", ticket->previous_seal});
    }
    const auto status = carry_out(*job, *port, options, clock);
    if (options.key && std::filesystem::exists(job->log))
        if (const Status noted = files::note_last_seal(*options.key, job->log); !noted)
            tell("the run counter beside the key was not kept: {}\n", noted.error().message());
    if (*book && std::filesystem::exists(job->log))
        enter(**book, job->log);
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
