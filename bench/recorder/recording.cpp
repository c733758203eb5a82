#include "bench/recorder/recording.hpp"

#include "analysis/droplog/reasons.hpp"
#include "bench/recorder/seconds.hpp"

#include <fmt/format.h>

#include <utility>

namespace dropledger::recorder {

Recording::Recording(const RunPlan& plan, Parts parts, const Bench& bench, const Hooks& hooks)
    : plan_(plan), file_(std::move(parts.file)), writer_(
                                                     [this](std::string_view line) {
                                                         file_.add(line);
                                                         if (!dirty_since_)
                                                             dirty_since_ = bench_.clock.steady();
                                                     },
                                                     std::move(parts.chain)),
      protocol_(std::move(parts.protocol)), tally_(std::move(parts.tally)), bench_(bench),
      hooks_(hooks), wire_(std::move(parts.link)),
      lifeline_(wire_, bench.clock, plan.timings, hooks.attended), boot_(protocol_.boot()) {
}

// An exception is a bug of ours: nobody records any more, so nothing may move.
Result<RunSummary> Recording::run() {
    try {
        return record_and_finish();
    } catch (...) {
        alive_.reset();
        send(droplog::encode("halt"));
        throw;
    }
}

Result<RunSummary> Recording::record_and_finish() {
    sealed_at_ = turned_at_ = listening_since_ = bench_.clock.steady();
    lifeline_.progress();
    if (protocol_.ordered())
        lifeline_.begin();
    alive_ = bench_.clock.every(plan_.timings.alive, [this] { lifeline_.speak(); });
    protocol_.link_up(turned_at_);
    do
        if (const Status ended = run_to_its_end(); !ended)
            return broken_off(ended.error());
    while (goes_on());
    return finish();
}

Status Recording::run_to_its_end() {
    while (protocol_.phase() != Phase::over && !leave_)
        if (Status stepped = step(); !stepped)
            return stepped;
    return Done{};
}

// Drops that a start has left are made by another one, which has a confirmation of its own.
bool Recording::goes_on() {
    if (leave_ || interrupts_ > 0 || !protocol_.may_go_on())
        return false;
    const auto rest = rest_of(plan_.order, tally_);
    if (!rest || plan_.closes_unfinished)
        return false;
    // After a line was lost, whoever let this process start may have gone to mend it.
    if (!protocol_.has_leave() && droplog::made_its_count(protocol_.end_reason()))
        if (auto again = hooks_.confirm_again())
            protocol_.give_leave(*std::move(again));
    stays_open_ = !protocol_.has_leave();
    if (stays_open_)
        return false;
    writer_.note(fmt::format("gone on with: {} drops a channel are left (channel mask {})",
                             rest->drops, rest->channel_mask));
    hooks_.say(
        fmt::format("{} drops a channel are left: the motors start again for those", rest->drops));
    protocol_.go_on(*rest, bench_.clock.steady());
    return true;
}

Status Recording::step() {
    lifeline_.progress();
    heed_lifeline();
    heed_interrupts();
    read_link();
    protocol_.time(bench_.clock.steady());
    carry_out();
    if (failure_)
        return *failure_;
    seal_when_due();
    if (const Status done = commit_when_due(); !done)
        return done.error();
    return watch_link();
}

void Recording::heed_lifeline() {
    const auto trip = lifeline_.tripped();
    if (!trip)
        return;
    writer_.sent(droplog::encode("halt"));
    if (*trip == Trip::unattended) {
        writer_.note("nobody stood by any more, so the motors were halted");
        hooks_.say(
            "nobody stands by any more: the motors are halted; the drops that are left can be made "
            "by another start");
        return protocol_.halt("host", bench_.clock.steady()); // as where the host was lost
    }
    writer_.note(
        fmt::format("the recorder stood still for over {:.0f} s (storing lines took {:.1f} "
                    "s), so the motors were halted",
                    seconds(plan_.timings.dead_man), seconds(slowest_sync_)));
    hooks_.say(fmt::format("the recorder stood still for over {:.0f} s, so the motors were halted; "
                           "look at the disk under {}",
                           seconds(plan_.timings.dead_man), file_.path()));
    protocol_.halt("held_up", bench_.clock.steady());
}

void Recording::heed_interrupts() {
    const int interrupts = hooks_.interrupts();
    if (interrupts == interrupts_)
        return;
    interrupts_ = interrupts;
    leave_ = interrupts > 1;
    if (interrupts == 1)
        hooks_.say("stopping: halting the motors, then closing the log (once more leaves at once)");
    protocol_.halt("interrupted", bench_.clock.steady());
}

void Recording::carry_out() {
    for (auto actions = protocol_.take_actions(); !actions.empty() && !failure_;
         actions = protocol_.take_actions())
        for (const Action& action : actions)
            if (!failure_)
                carry_out(action);
}

void Recording::carry_out(const Action& action) {
    switch (action.kind) {
    case ActionKind::keep:
        return keep(action);
    case ActionKind::keep_conflict:
        return writer_.controller(action.text);
    case ActionKind::keep_damaged:
        return keep_damaged(action);
    case ActionKind::mark_time:
        return writer_.at(action.record.seq, bench_.clock.unix_us());
    case ActionKind::mark_resumed:
        return writer_.resumed(bench_.clock.unix_us());
    case ActionKind::mark_confirmed:
        return writer_.confirmed(action.unix_us);
    case ActionKind::note:
        return writer_.note(action.text);
    case ActionKind::send:
        return send_logged(action);
    case ActionKind::send_synced:
        return send_synced(action);
    case ActionKind::say:
        return hooks_.say(action.text);
    case ActionKind::say_of_channel:
        return hooks_.say(
            fmt::format("{}: {}", hooks_.channel_name(action.record.channel), action.text));
    }
}

void Recording::keep(const Action& action) {
    writer_.controller(action.text);
    if (action.record.name == droplog::LineName::hello &&
        std::exchange(boot_, protocol_.boot()) != boot_) {
        tally_.reboot();
        acknowledged_.reset();
    }
    tally_.take(action.record, action.text);
    if (action.record.name != droplog::LineName::drop || protocol_.phase() != Phase::running)
        return;
    if (const auto reason = hooks_.stop(tally_)) {
        stopped_by_rule_ = true;
        protocol_.halt(*reason, bench_.clock.steady());
    }
}

void Recording::keep_damaged(const Action& action) {
    if (flood_.admits(action.text, bench_.clock.steady()))
        writer_.damaged(action.text);
}

} // namespace dropledger::recorder
