#include "bench/recorder/recording.hpp"

#include "bench/recorder/halt_motors.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

namespace {

using link::FrameKind;
using link::ReadOutcome;

constexpr std::chrono::milliseconds read_patience{20};
constexpr Microseconds reopen_pause{200'000};
constexpr Microseconds slow_disk_told_every{10'000'000};

double seconds(Microseconds time) {
    return static_cast<double>(time.count()) / 1e6;
}

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

Status Recording::begin_log() {
    new_log_ = true;
    writer_.start(plan_.run_id, rfc3339(bench_.clock.unix_us()));
    for (const Setting& setting : plan_.settings)
        writer_.set(setting.key, setting.value);
    // Not settings of the format, but what a resumed run needs to give its order again.
    writer_.set("channel_mask", std::to_string(plan_.order.channel_mask));
    writer_.set("drops", std::to_string(plan_.order.drops));
    for (const ChannelSetting& setting : plan_.channel_settings)
        writer_.channel_set(setting.channel, setting.key, setting.value);
    for (const std::string& remark : plan_.remarks)
        writer_.note(remark);
    if (const Status done = commit(); !done) {
        static_cast<void>(file_.remove());
        return done.error();
    }
    return Done{};
}

Status Recording::begin_again(const Recovered& found) {
    if (writer_.unsealed() >= droplog::seal_every)
        writer_.seal();
    writer_.resumed(bench_.clock.unix_us());
    if (found.broken)
        writer_.note(fmt::format("{} bytes behind the last whole line were broken, never "
                                 "acknowledged, and cut off",
                                 found.torn_bytes));
    return commit();
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
        std::exchange(boot_, protocol_.boot()) != boot_)
        tally_.reboot();
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

void Recording::seal_when_due() {
    const Microseconds now = bench_.clock.steady();
    if (now - sealed_at_ < plan_.timings.seal)
        return;
    sealed_at_ = now;
    if (const auto remark = flood_.take_remark())
        writer_.note(*remark);
    writer_.seal();
}

Status Recording::commit_when_due() {
    if (!dirty_since_ || bench_.clock.steady() - *dirty_since_ < plan_.timings.commit)
        return Done{};
    Status done = commit();
    hooks_.progress(tally_);
    return done;
}

Status Recording::commit() {
    const Microseconds began = bench_.clock.steady();
    dirty_since_.reset();
    Status done = store();
    disk_failed_ = !done;
    tell_slow_disk(bench_.clock.steady() - began);
    if (done)
        acknowledge();
    return done;
}

Status Recording::store() {
    if (const Status ours = file_.untouched(); !ours)
        return ours.error();
    if (const Status written = file_.write(); !written)
        return written.error();
    if (const Status synced = file_.sync(); !synced)
        return synced.error();
    return file_.untouched();
}

void Recording::tell_slow_disk(Microseconds took) {
    slowest_sync_ = std::max(slowest_sync_, took);
    const Microseconds now = bench_.clock.steady();
    if (took < plan_.timings.slow_disk ||
        (told_slow_at_ && now - *told_slow_at_ < slow_disk_told_every))
        return;
    told_slow_at_ = now;
    hooks_.say(fmt::format("the disk under {} is slow: storing lines took {:.1f} s; over {:.0f} s "
                           "the motors are halted",
                           file_.path(), seconds(took), seconds(plan_.timings.dead_man)));
}

void Recording::acknowledge() {
    const auto last = protocol_.acknowledgeable();
    if (!wire_.up() || !last || last == acknowledged_)
        return;
    acknowledged_ = last;
    send(droplog::encode(fmt::format("ack,{}", *last)));
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
    return Error{ErrorKind::device, "controller",
                 "the line is lost; without it the controller halts its motors after 2 s",
                 "check cable and power, make sure that the motors stand still, then go on with: "
                 "dropledger run --resume " +
                     file_.path()};
}

// A log whose run was never armed says nothing.
bool Recording::nothing_recorded() const {
    return new_log_ && !protocol_.ordered();
}

Result<RunSummary> Recording::finish() {
    if (leave_)
        return broken_off({ErrorKind::device, file_.path(),
                           "left without waiting for the controller's halt",
                           "make sure that the motors stand still"});
    carry_out();
    if (failure_)
        return broken_off(*failure_);
    if (protocol_.resumable())
        return broken_off(*protocol_.trouble());
    if (nothing_recorded())
        return broken_off(protocol_.trouble().value_or(
            Error{ErrorKind::device, file_.path(),
                  "stopped before the motors were armed; nothing was recorded", ""}));
    if (protocol_.needs_halt())
        make_halt();
    tally_.finish();
    if (const auto remark = flood_.take_remark())
        writer_.note(*remark);
    for (const std::string& remark : hooks_.last_remarks())
        writer_.note(remark);
    writer_.close(protocol_.end_reason(), plan_.key);
    if (const Status done = commit(); !done)
        return broken_off(done.error());
    if (protocol_.trouble())
        return *protocol_.trouble();
    return summary();
}

// Lines that come meanwhile stay with the controller, unacknowledged.
void Recording::make_halt() {
    alive_.reset();
    if (leave_)
        return send(droplog::encode("halt"));
    if (wire_.up())
        hooks_.say(halt_motors(wire_, bench_.clock, plan_.timings)
                       ? "the motors are halted"
                       : "the halt is not confirmed: make sure that the motors stand still");
}

Error Recording::broken_off(Error error) {
    if (protocol_.needs_halt())
        make_halt();
    if (nothing_recorded()) {
        static_cast<void>(file_.remove());
        return error;
    }
    if (!disk_failed_) {
        writer_.seal();
        static_cast<void>(commit());
    }
    return error;
}

RunSummary Recording::summary() {
    RunSummary summary{.log = file_.path(),
                       .end_reason = protocol_.end_reason(),
                       .as_planned = false,
                       .remainder = remainder(plan_.order, tally_),
                       .tally = tally_,
                       .counts = protocol_.counts(),
                       .conceded = protocol_.conceded()};
    const bool all_done = summary.end_reason == "count" && summary.remainder.empty();
    const bool all_kept =
        summary.conceded == 0 && summary.counts.lost == 0 && summary.counts.conflicting == 0;
    summary.as_planned = (stopped_by_rule_ || all_done) && all_kept;
    return summary;
}

} // namespace dropledger::recorder
