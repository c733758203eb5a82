#include "bench/recorder/recording.hpp"

#include "bench/recorder/seconds.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

namespace {

using link::FrameKind;
using link::ReadOutcome;

constexpr std::chrono::milliseconds read_patience{20};
constexpr Microseconds reopen_pause{200'000};

} // namespace

Recording::Recording(const RunPlan& plan, Parts parts, const Bench& bench, const Hooks& hooks)
    : plan_(plan), file_(std::move(parts.file)), writer_(
                                                     [this](std::string_view line) {
                                                         file_.add(line);
                                                         if (!dirty_since_)
                                                             dirty_since_ = bench_.clock.steady();
                                                     },
                                                     std::move(parts.chain)),
      protocol_(std::move(parts.protocol)), tally_(std::move(parts.tally)), bench_(bench),
      hooks_(hooks), wire_(std::move(parts.link)), lifeline_(wire_, bench.clock, plan.timings),
      boot_(protocol_.boot()) {
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
    while (protocol_.phase() != Phase::over && !leave_)
        if (const Status stepped = step(); !stepped)
            return broken_off(stepped.error());
    return finish();
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

// While nobody listened, silence says nothing of the line.
void Recording::mind_time_lost() {
    const Microseconds now = bench_.clock.steady();
    if (now - std::exchange(turned_at_, now) >= plan_.timings.slow_disk)
        listening_since_ = now;
}

void Recording::heed_lifeline() {
    if (!lifeline_.tripped())
        return;
    writer_.sent(droplog::encode("halt"));
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

void Recording::read_link() {
    if (!wire_.up())
        return;
    const link::Read read = wire_.read(read_patience);
    if (read.outcome == ReadOutcome::bytes) {
        framer_.feed(read.bytes);
        take_frames();
    } else if (read.outcome == ReadOutcome::gone) {
        drop_link();
    }
}

void Recording::take_frames() {
    const Microseconds now = bench_.clock.steady();
    for (link::Frame frame = framer_.next(); frame.kind != FrameKind::need_more;
         frame = framer_.next()) {
        if (frame.kind == FrameKind::line)
            protocol_.line(frame.bytes, now);
        else
            protocol_.junk(frame.bytes, now);
    }
}

void Recording::drop_link() {
    const link::Frame rest = framer_.flush();
    if (rest.kind == FrameKind::not_a_line)
        protocol_.junk(rest.bytes, bench_.clock.steady());
    wire_.drop();
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

void Recording::send_logged(const Action& action) {
    if (!wire_.up())
        return;
    writer_.sent(action.text);
    send(action.text);
}

// What may set motors in motion is on the disk before it is on the wire: whoever goes on with this
// log knows of it.
void Recording::send_synced(const Action& action) {
    if (!wire_.up())
        return;
    writer_.sent(action.text);
    if (const Status done = commit(); !done) {
        failure_ = done.error();
        return;
    }
    send(action.text);
    lifeline_.begin();
}

void Recording::send(const std::string& line) {
    if (wire_.up() && !wire_.write(line))
        drop_link();
}

Status Recording::watch_link() {
    mind_time_lost();
    const Microseconds now = bench_.clock.steady();
    const Microseconds silent_since = std::max(protocol_.last_heard(), listening_since_);
    if (wire_.up() && now - silent_since >= plan_.timings.reopen)
        drop_link();
    if (wire_.up() || protocol_.phase() == Phase::over)
        return Done{};
    return reconnect();
}

Status Recording::reconnect() {
    hooks_.say("the line to the controller is lost; trying to get it back");
    writer_.seal();
    if (const Status done = commit(); !done)
        return done.error();
    const Microseconds until =
        std::max(protocol_.last_heard(), listening_since_) + plan_.timings.reconnect_limit;
    while (bench_.clock.steady() < until && hooks_.interrupts() == interrupts_) {
        bench_.clock.wait(reopen_pause);
        lifeline_.progress(); // it waits for the line; nobody stands still
        auto opened = bench_.open();
        if (!opened)
            continue;
        wire_.connect(std::move(*opened));
        turned_at_ = listening_since_ = bench_.clock.steady();
        acknowledged_.reset();
        lifeline_.progress();
        protocol_.link_up(turned_at_);
        hooks_.say("the line is back");
        return Done{};
    }
    return device_error(
        "controller", "the line is lost; without it the controller halts its motors after 2 s",
        "check cable and power, make sure that the motors stand still, then go on with: "
        "`resume` " +
            file_.path());
}

} // namespace dropledger::recorder
