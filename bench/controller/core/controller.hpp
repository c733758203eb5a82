// The controller of a bench as a state machine: bytes and inputs in, lines and outputs out. Knows
// no register; section 4.2 of analysis/droplog/README.md is its table.
//
// Units: µs of the board's counter, which wraps at 2^32.
// Assumes: step() at least every few ms, every sample of the beams given before it, in order.
#pragma once

#include "bench/controller/core/command.hpp"
#include "bench/controller/core/gate_watch.hpp"
#include "bench/controller/core/motion.hpp"
#include "bench/controller/core/render.hpp"

namespace dropledger {
namespace controller {

struct Room {
    uint8_t* at;
    uint16_t size;
};

class Controller {
public:
    // Boots: says hello. `boot` differs at every boot and is shorter than boot_room.
    Controller(const Setup& setup, Room room, const char* boot, uint32_t now_us);

    void hear(char byte, uint32_t now_us); // one byte from the host
    void see(Beams beams) { gates_.take(beams); }
    void lose_edges(uint32_t now_us); // edges came faster than they could be taken in
    void step(const Inputs& inputs, uint32_t now_us);
    void tell(uint32_t now_us) { motion_.tell(now_us); } // once step()'s outputs are in force

    [[nodiscard]] const Outputs& outputs() const { return motion_.outputs(); }
    // The next line for the host, with its LF; false where there is none.
    [[nodiscard]] bool next_line(LineText& line);
    [[nodiscard]] bool has_line() const { return buffer_.has_to_send(); }
    [[nodiscard]] const EventBuffer& buffer() const { return buffer_; }
    [[nodiscard]] bool is_idle() const { return state_ == State::idle; }

private:
    enum class State : uint8_t { idle, armed, running, stopping };

    void carry_out(uint32_t now_us);
    void carry_out_alone(const Field& name, uint32_t now_us);
    void acknowledge_or_resend(bool acknowledges, uint32_t now_us);
    void arm(uint32_t now_us);
    void go(uint32_t now_us);
    void halt(uint32_t now_us);
    void stop(Word reason, uint32_t now_us);
    void fault(Word word, uint32_t now_us);
    void refuse(Word word, uint32_t now_us);
    void say(Kind kind, uint32_t now_us, Word word = Word::none);
    void say_travel(Passed passed);
    void beat(uint32_t now_us);
    void guard_inputs(const Inputs& inputs, uint32_t now_us);
    void watch_host(uint32_t now_us);
    void watch_motion(uint32_t now_us);
    void run_on(uint32_t now_us);
    [[nodiscard]] bool is_moving() const;
    void end_run(uint32_t now_us);

    const Setup& setup_;
    EventBuffer buffer_;
    Identity identity_;
    CommandReader command_;
    Travel travel_;
    GateWatch gates_;
    Motion motion_;
    Order order_;
    State state_ = State::idle;
    Word reason_ = Word::none; // what stopped the start first
    bool estop_ = false;
    bool guard_ = false;
    Counts counts_;
    uint32_t meter_steps_ = 0;
    uint32_t beat_us_ = 0;
    uint32_t alive_us_ = 0;
    uint32_t travel_us_ = 0;
    uint32_t stopped_us_ = 0;
    uint32_t looked_us_ = 0;
    bool encoder_skipped_ = false; // since it was last looked after
};

} // namespace controller
} // namespace dropledger
