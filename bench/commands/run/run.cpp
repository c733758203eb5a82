#include "bench/commands/run/run.hpp"

#include "bench/commands/run/job/interrupts.hpp"
#include "bench/commands/run/job/run_job.hpp"
#include "bench/commands/run/job/run_output.hpp"
#include "bench/commands/run/job/run_verdict.hpp"
#include "bench/commands/run/job/run_work.hpp"
#include "bench/commands/run/run_ports.hpp"
#include "bench/commands/run/screen/diagnostics.hpp"
#include "bench/commands/run/screen/run_screen.hpp"
#include "bench/commands/run/settings/run_options.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/link/transport.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

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

// Looks at the bench before a person is asked, then puts the permission into the plan.
Status settle_start(Job& job, const RunOptions& options, recorder::Clock& clock) {
    if (job.may_start && !job.was_started && !options.yes && is_asked())
        if (const Status fits = look_at_bench(job, options, clock); !fits)
            return fits;
    auto permission = permission_for(job, options, clock);
    if (!permission)
        return permission.error();
    job.plan.start = std::move(permission->start);
    job.plan.closes_unfinished = permission->closes_unfinished;
    return Done{};
}

Result<int> carry_out(Job& job, const RunOptions& options, recorder::Clock& clock) {
    RunScreen screen(clock, {job.plan.order, job.channels, job.profile});
    recorder::Hooks hooks = hooks_for(screen);
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
    detail(fmt::format("port {}, {} baud, log {}, {} mode, {} drops, channel mask {}{}",
                       *options.port, options.baud.value_or(link::default_baud), job.log,
                       droplog::name_of(job.plan.order.mode), job.plan.order.drops,
                       job.plan.order.channel_mask, job.goes_on ? ", gone on with" : ""));
    const auto done = work(job, options, std::move(hooks), clock);
    if (!done) {
        note_detail("ended by: " + done.error().message());
        return done.error();
    }
    const recorder::RunSummary& summary = done->summary;
    detail(fmt::format("end: {}; {} lines taken, {} damaged, {} repeated, {} asked for again",
                       summary.end_reason, summary.counts.taken, summary.counts.damaged,
                       summary.counts.repeated, summary.counts.resends));
    screen.finish(summary.tally);
    return deliver_run(*done, options.json);
}

Status check_diagnostics(const RunOptions& options) {
    return Outputs{}
        .reads(options.settings)
        .reads(options.key)
        .reads(options.resume)
        .reads(options.log) // by the verdict
        .writes("--diagnostics", options.diagnostics, files::FileKind::diagnostics)
        .check();
}

Result<int> run(RunOptions options) {
    if (options.settings)
        if (const Status added = add_settings_file(*options.settings, options); !added)
            return added.error();
    if (options.list_ports)
        return list_serial_ports(options);
    if (const Status allowed = check_diagnostics(options); !allowed)
        return allowed.error();
    if (const Status opened = open_diagnostics(options.diagnostics); !opened)
        return opened.error();
    recorder::SystemClock clock;
    if (!options.port)
        return usage("--port", "missing: say where the bench is",
                     "dropledger run --list-ports shows the ports");
    const auto book = book_of(options);
    if (!book)
        return book.error();
    auto job = job_of(options, book->get(), clock);
    if (!job)
        return job.error();
    for (const std::string& sentence : job->says)
        tell("{}\n", sentence);
    if (const Status settled = settle_start(*job, options, clock); !settled)
        return settled.error();
    if (const Status counted = count_run(options, *job); !counted)
        return counted.error();
    const auto status = carry_out(*job, options, clock);
    for (const std::string& sentence : keep_books(options, book->get(), *job))
        tell("{}\n", sentence);
    if (status && !options.json && !job->left_open)
        show_verdict(options, book->get(), job->log);
    return status;
}

} // namespace

void declare_run(Command command) {
    const auto options = std::make_shared<RunOptions>();
    declare_run_options(command, *options);
    command.manual("run").runs([options] { return run(*options); });
}

} // namespace dropledger::cli
