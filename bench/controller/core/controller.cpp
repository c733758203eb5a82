#include "bench/controller/core/controller.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint32_t beat_every_us = 900000;
constexpr uint32_t patience_us = 2000000; // without `alive` while armed or running
constexpr uint32_t travel_every_us = 200000;
constexpr uint32_t settling_us = 1500000; // what is still falling is seen
constexpr uint32_t stall_us = 500000;     // at speed and no count
constexpr uint32_t look_every_us = 2000;  // after what is not urgent
constexpr uint16_t reserve = 160;         // bytes for what must get through

} // namespace

Controller::Controller(const Setup& setup, Room room, const char* boot, uint32_t now_us)
    : setup_(setup), buffer_(room.at, room.size, reserve), travel_(setup.nm_per_count),
      gates_(buffer_), motion_(setup, buffer_), beat_us_(now_us) {
    for (uint8_t i = 0; i + 1 < boot_room && boot[i] != '\0'; ++i)
        identity_.boot[i] = boot[i];
    identity_.channels = setup.channels;
    identity_.firmware = setup.firmware;
    say(Kind::hello, now_us);
}

void Controller::say(Kind kind, uint32_t now_us, Word word) {
    buffer_.keep(state_event(kind, word, now_us));
}

void Controller::refuse(Word word, uint32_t now_us) {
    say(Kind::refused, now_us, word);
}

void Controller::hear(char byte, uint32_t now_us) {
    switch (command_.take(byte)) {
    case Heard::nothing:
        return;
    case Heard::too_long:
        return refuse(Word::length, now_us);
    case Heard::bad_check:
        return refuse(Word::crc, now_us);
    case Heard::command:
        return carry_out(now_us);
    }
}

void Controller::carry_out(uint32_t now_us) {
    const Field name = command_.field(0);
    if (is(name, "arm"))
        return arm(now_us);
    const bool acknowledges = is(name, "ack");
    if (acknowledges || is(name, "resend"))
        return acknowledge_or_resend(acknowledges, now_us);
    carry_out_alone(name, now_us);
}

void Controller::carry_out_alone(const Field& name, uint32_t now_us) {
    const bool greets = is(name, "hello");
    const bool goes = is(name, "go");
    const bool halts = is(name, "halt");
    if (!greets && !goes && !halts && !is(name, "alive"))
        return refuse(Word::unknown, now_us);
    if (command_.fields() != 1)
        return refuse(Word::syntax, now_us);
    if (greets)
        return say(Kind::hello, now_us);
    if (goes)
        return go(now_us);
    if (halts)
        return halt(now_us);
    alive_us_ = now_us;
}

void Controller::acknowledge_or_resend(bool acknowledges, uint32_t now_us) {
    uint32_t seq = 0;
    if (command_.fields() != 2 || !parse(command_.field(1), seq))
        return refuse(Word::syntax, now_us);
    if (acknowledges) {
        if (!buffer_.acknowledge(seq))
            refuse(Word::seq, now_us);
        return;
    }
    const Resend answer = buffer_.resend(seq);
    if (answer != Resend::again)
        refuse(answer == Resend::gone ? Word::gone : Word::seq, now_us);
}

void Controller::arm(uint32_t now_us) {
    Order order;
    if (state_ != State::idle)
        return refuse(Word::state, now_us);
    if (!read_order(command_, order))
        return refuse(Word::syntax, now_us);
    if (order.mode == Mode::none)
        return refuse(Word::mode, now_us);
    if (estop_ || guard_)
        return refuse(estop_ ? Word::estop : Word::guard, now_us);
    const Word reason = reason_against(order, setup_);
    if (reason != Word::none)
        return refuse(reason, now_us);
    order_ = order;
    state_ = State::armed;
    alive_us_ = now_us;
    say(Kind::armed, now_us);
}

void Controller::go(uint32_t now_us) {
    if (state_ != State::armed)
        return refuse(Word::state, now_us);
    state_ = State::running;
    reason_ = Word::count;
    say(Kind::started, now_us);
    travel_.begin(counts_, now_us);
    say_travel(travel_.passed(now_us));
    motion_.begin(order_, now_us, meter_steps_);
    const auto mask = static_cast<uint16_t>(order_.channel_mask & 0xFFU);
    gates_.begin(static_cast<uint16_t>(mask | (mask << most_channels)), now_us);
}

// A halt that comes while halting is already under way has been carried out.
void Controller::halt(uint32_t now_us) {
    if (state_ == State::idle)
        return refuse(Word::state, now_us);
    stop(Word::host, now_us);
}

void Controller::stop(Word reason, uint32_t now_us) {
    if (state_ == State::armed) {
        state_ = State::idle;
        say(Kind::halted, now_us, reason);
    } else if (state_ == State::running) {
        state_ = State::stopping;
        reason_ = reason;
        stopped_us_ = now_us;
        if (reason == Word::estop || reason == Word::guard)
            motion_.cut();
        else
            motion_.slow_down(now_us);
    }
}

void Controller::fault(Word word, uint32_t now_us) {
    buffer_.keep(fault_event(no_channel, word, now_us));
}

void Controller::lose_edges(uint32_t now_us) {
    buffer_.lose_one();
    fault(Word::edges_lost, now_us);
}

void Controller::guard_inputs(const Inputs& inputs, uint32_t now_us) {
    if (inputs.estop && !estop_) {
        fault(Word::estop, now_us);
        stop(Word::estop, now_us);
    }
    if (inputs.guard && !guard_) {
        fault(Word::guard, now_us);
        stop(Word::guard, now_us);
    }
    if (inputs.estop || inputs.guard)
        motion_.cut();
    estop_ = inputs.estop;
    guard_ = inputs.guard;
}

void Controller::watch_host(uint32_t now_us) {
    if (state_ != State::armed && state_ != State::running)
        return;
    if (now_us - alive_us_ <= patience_us)
        return;
    fault(Word::host_silent, now_us);
    stop(Word::host_silent, now_us);
}

void Controller::beat(uint32_t now_us) {
    if (now_us - beat_us_ < beat_every_us)
        return;
    beat_us_ += beat_every_us;
    Event event = state_event(Kind::beat, Word::none, now_us);
    event.number = buffer_.backlog();
    event.count = buffer_.lost();
    buffer_.keep(event);
}

void Controller::say_travel(Passed passed) {
    Event event = state_event(Kind::travel, Word::none, passed.tick_us);
    event.position_um = passed.position_um;
    buffer_.keep(event);
    travel_us_ = passed.tick_us;
}

void Controller::watch_motion(uint32_t now_us) {
    const bool stalled = motion_.is_at_speed() && travel_.still_us(now_us) > stall_us;
    if (state_ != State::running || (!stalled && !encoder_skipped_))
        return;
    fault(encoder_skipped_ ? Word::encoder_skipped : Word::motor_stall, now_us);
    stop(Word::fault, now_us);
}

void Controller::step(const Inputs& inputs, uint32_t now_us) {
    counts_ = inputs.counts;
    meter_steps_ = inputs.meter_steps;
    encoder_skipped_ = encoder_skipped_ || inputs.encoder_skipped;
    guard_inputs(inputs, now_us);
    if (is_moving()) {
        travel_.update(counts_, now_us);
        motion_.step(travel_, now_us);
    }
    if (now_us - looked_us_ < look_every_us)
        return;
    looked_us_ = now_us;
    buffer_.free_some();
    watch_host(now_us);
    if (is_moving())
        run_on(now_us);
    encoder_skipped_ = false;
    beat(now_us);
}

bool Controller::is_moving() const {
    return state_ == State::running || state_ == State::stopping;
}

void Controller::run_on(uint32_t now_us) {
    motion_.pace(travel_, now_us, meter_steps_);
    watch_motion(now_us);
    gates_.check(now_us);
    if (now_us - travel_us_ >= travel_every_us)
        say_travel(travel_.passed(now_us));
    if (state_ == State::running && motion_.is_done(now_us))
        stop(Word::count, now_us);
    if (state_ == State::stopping && motion_.is_at_rest() && now_us - stopped_us_ >= settling_us)
        end_run(now_us);
}

void Controller::end_run(uint32_t now_us) {
    gates_.end();
    say_travel(travel_.passed(now_us));
    state_ = State::idle;
    say(Kind::halted, now_us, reason_);
}

bool Controller::next_line(LineText& line) {
    Event event;
    uint32_t seq = 0;
    if (!buffer_.next_to_send(event, seq))
        return false;
    render(event, seq, identity_, line);
    return true;
}

} // namespace controller
} // namespace dropledger
