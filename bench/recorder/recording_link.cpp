// What a recording hears and says on its line, and how it gets a lost one back.
#include "bench/recorder/recording.hpp"

#include "analysis/base/shell_word.hpp"

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

namespace {

using link::FrameKind;
using link::ReadOutcome;

constexpr Microseconds reopen_pause{200'000};

} // namespace

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

// While nobody listened, silence says nothing of the line.
void Recording::mind_time_lost() {
    const Microseconds now = bench_.clock.steady();
    if (now - std::exchange(turned_at_, now) >= plan_.timings.slow_disk)
        listening_since_ = now;
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
            shell_word(file_.path()));
}

} // namespace dropledger::recorder
