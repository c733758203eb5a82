// What the controller's states and refusals mean: started, halted, moved unasked, started anew.
#include "bench/recorder/protocol/lines/controller_text.hpp"
#include "bench/recorder/protocol/lines/words.hpp"
#include "bench/recorder/protocol/protocol.hpp"

#include "analysis/droplog/reasons.hpp"

#include <fmt/format.h>

#include <utility>

namespace dropledger::recorder {

using droplog::LineName;
using droplog::RefusedCode;

void Protocol::take_state(std::string_view line, const droplog::Record& record, Microseconds now) {
    const ControllerState before = state_;
    state_ = after(state_, record.name);
    if (record.name == LineName::halted) {
        act(ActionKind::say, halt_in_words(field(line, detail_field)));
        if (end_reason_.empty())
            end_reason_ = halt_reason(line);
    }
    if (record.name == LineName::started)
        return take_started(now);
    if (state_ != before)
        follow_state(now);
}

void Protocol::take_started(Microseconds now) {
    goes_unanswered_ -= goes_unanswered_ > 0 ? 1 : 0;
    going_on_ = false;
    ++starts_;
    started_um_.reset();
    if (!std::exchange(start_open_, false))
        return moved_unasked(now);
    if (phase_ == Phase::settling) { // it answers a `go` of before the halt
        idle_ = false;
        return enter(Phase::halting, now);
    }
    follow_state(now);
}

// Whatever the run was, it ends here; a log that tells of such a start passes nowhere.
void Protocol::moved_unasked(Microseconds now) {
    idle_ = false;
    leave_.start.reset();
    const bool before = std::exchange(unasked_, true);
    if (before && phase_ == Phase::halting)
        return;
    act(ActionKind::say,
        "motors were set in motion unasked: they are halted and the run ends here");
    if (before)
        return give_up("no_halt",
                       controller_trouble("has moved again after its halt",
                                          "press the emergency stop, then switch it off"));
    halt_unasked(now);
}

void Protocol::halt_unasked(Microseconds now) {
    wind_up(unasked_start,
            controller_trouble("tells of a start that nobody confirmed for this log",
                               "switch it off, and find out why before you use it again"),
            now);
}

void Protocol::follow_state(Microseconds now) {
    const bool catching_up = phase_ == Phase::checking && continues_ && surveyed_;
    if (phase_ != Phase::running && phase_ != Phase::halting && !waits_for_start() && !catching_up)
        return;
    if (state_ == ControllerState::halted)
        enter(Phase::settling, now);
    else if (state_ == ControllerState::armed && phase_ == Phase::arming)
        start_when_sure(now);
    else if (state_ == ControllerState::started && phase_ != Phase::halting)
        enter(Phase::running, now);
}

void Protocol::take_refusal(std::string_view line, Microseconds now) {
    const std::string code = field(line, detail_field);
    const auto known = droplog::refused_code_of(code);
    if (surveys() && known == RefusedCode::gone) {
        survey_.gone();
        asked_held_at_.reset();
        return look_at_held(now);
    }
    // A `go` that was sent again is refused while motors turn.
    const bool answers_go =
        known == RefusedCode::state && state_ == ControllerState::started && goes_unanswered_ > 0;
    goes_unanswered_ -= answers_go ? 1 : 0;
    if (answers_go)
        return;
    if (phase_ == Phase::halting && known == RefusedCode::state)
        return refused_halt(now);
    if (is_wire_trouble(code) || !waits_for_start() || ++refusals_ < refusals_in_earnest)
        return;
    wind_up("refused",
            controller_trouble(fmt::format("refused to start: {}", refusal_in_words(code)),
                               "then start again"),
            now);
}

// An idle controller refuses to halt: nothing moves.
void Protocol::refused_halt(Microseconds now) {
    if (++refusals_ < refusals_in_earnest)
        return;
    idle_ = true;
    enter(Phase::settling, now);
}

// Its lines are kept nowhere, and the log's own bench may still have what the log lacks.
void Protocol::meet_other_bench(const std::string& difference) {
    other_bench_ = true;
    other_lines_.clear(); // they may be its
    give_up(
        "other_bench",
        controller_trouble(
            fmt::format("is not the bench of this log: {}; nothing of it was taken", difference),
            "make sure that the motors of the log's bench stand still, connect that bench, "
            "then go on with `resume`"));
}

void Protocol::rebooted(Microseconds now) {
    state_ = ControllerState::idle;
    start_open_ = start_queued_ = false;
    marked_at_.reset();
    position_um_.reset();
    kept_.reset();
    taken_.forget();
    other_lines_.clear();
    leave_.start.reset();
    surveyed_ = true; // what the former boot held is gone
    goes_unanswered_ = 0;
    if (phase_ == Phase::over || phase_ == Phase::settling || reset_)
        return;
    if (ordered_) // an order sent again may have reached the new boot
        send("halt", now);
    // Motors are never started again by themselves: whoever reset the controller may stand beside
    // it.
    reset_ = true;
    end_reason_ = "reset";
    act(ActionKind::say,
        fmt::format("the controller has started anew (reset or power failure){}; the motors stand "
                    "still and the run ends here",
                    bench_.has_serial() ? "" : ", or it is another one of the same firmware"));
    enter(Phase::settling, now);
}

} // namespace dropledger::recorder
