// What the protocol does when time passes. No wait is without an end.
#include "bench/recorder/protocol/lines/controller_text.hpp"
#include "bench/recorder/protocol/protocol.hpp"

#include <fmt/format.h>

namespace dropledger::recorder {

void Protocol::time(Microseconds now) {
    if (phase_ == Phase::over)
        return;
    watch_gaps(now);
    watch_held(now);
    watch_limits(now); // first: what has waited too long is not asked for once more
    retry(now);
}

void Protocol::watch_gaps(Microseconds now) {
    if (const auto seq = arrivals_.ask_now(now)) {
        ++counts_.resends;
        act(ActionKind::send, droplog::encode(fmt::format("resend,{}", *seq)));
    }
    const bool silent = now - heard_at_ >= timings_.silence;
    const bool unnamed = !arrivals_.boot_named() && phase_ != Phase::greeting; // which asks anyway
    if (arrivals_.begun() && (silent || query_boot_ || unnamed || arrivals_.suspicious()))
        ask_hello(now);
}

// Asks for the older lines that the controller holds.
void Protocol::watch_held(Microseconds now) {
    const auto seq = surveys() ? survey_.ask_from() : std::nullopt;
    if (!seq || (asked_held_at_ && now - *asked_held_at_ < timings_.retry))
        return;
    asked_held_at_ = now;
    act(ActionKind::send, droplog::encode(fmt::format("resend,{}", *seq)));
}

void Protocol::retry(Microseconds now) {
    const bool waits_for_boot = phase_ == Phase::arming && state_ == ControllerState::armed;
    if (now - sent_at_ >= timings_.retry && !waits_for_boot)
        send_order(now);
}

void Protocol::watch_limits(Microseconds now) {
    if (phase_ == Phase::checking)
        return watch_checking(now);
    if (phase_ == Phase::running)
        return watch_movement(now);
    if (phase_ == Phase::settling)
        return watch_settling(now);
    if (phase_ == Phase::greeting || waits_for_start())
        return watch_answers(now);
    if (phase_ == Phase::halting && now - entered_at_ >= timings_.halt_limit)
        halt_unheeded();
}

void Protocol::halt_unheeded() {
    const std::string before = trouble_ ? trouble_->what + ", and " : "";
    trouble_.reset();
    unheeded_ = true;
    give_up("no_halt",
            controller_trouble(before + "did not confirm the halt",
                               "make sure that the motors stand still: press the emergency stop"));
}

void Protocol::watch_answers(Microseconds now) {
    const Microseconds limit = continues_ ? timings_.reconnect_limit : timings_.answer_limit;
    if (now - entered_at_ < limit)
        return;
    const char* const remedy =
        "check port, baud rate, cable and power; `dropledger run --list-ports` shows the ports";
    if (phase_ == Phase::greeting)
        return give_up("no_answer", controller_trouble("does not answer", remedy));
    wind_up("no_answer",
            controller_trouble(phase_ == Phase::arming ? "does not confirm `arm`"
                                                       : "does not confirm `go`",
                               remedy),
            now);
}

void Protocol::watch_checking(Microseconds now) {
    const Microseconds limit = continues_ ? timings_.reconnect_limit : timings_.answer_limit;
    if (now - entered_at_ < limit)
        return;
    if (survey_.ask_from())
        return give_up(
            "held",
            controller_trouble(
                fmt::format("holds {} lines of before this run and does not send them, so "
                            "nobody knows whether a run is among them",
                            survey_.held()),
                "give `discard_held` to give them up, or switch the controller off and on"));
    give_up("no_beat",
            controller_trouble("does not say what it holds: no beat came that tells of this run",
                               "its firmware must send one at least every second"));
}

void Protocol::watch_movement(Microseconds now) {
    if (now - moved_at_ < timings_.standstill)
        return;
    act(ActionKind::say, "nothing moves although the controller has started: the run is halted");
    halt("standstill", now);
}

void Protocol::watch_settling(Microseconds now) {
    const Microseconds in_phase = now - entered_at_;
    const bool quiet = !arrivals_.behind() && !junk_since_line_;
    if ((in_phase < timings_.settle || !quiet) && in_phase < timings_.settle_limit)
        return;
    if (!arrivals_.greeted())
        return give_up("reset", controller_trouble(
                                    "has started anew, and its first line does not come: without "
                                    "it nobody could see from the log that lines are missing",
                                    "go on with `resume`"));
    end(end_reason_, std::nullopt);
}

} // namespace dropledger::recorder
