// From beams that go dark and light again to `pulse` lines and `gate_blocked`.
//
// Units: µs of the controller's counter.
// Assumes: samples come in order of time. A line may be at most 50 ms behind, so a beam still dark
// after 45 ms gets its line then: a WIDTH of 45,000 means "that long or longer". What was dark when
// watching began has no beginning that anyone saw: no pulse, but `gate_blocked` after 250 ms.
#pragma once

#include "bench/controller/core/event_buffer.hpp"

namespace dropledger {
namespace controller {

constexpr uint32_t longest_pulse_us = 45000;
constexpr uint32_t blocked_after_us = 250000;

// All beams at one instant; a set bit is a dark beam. Bits: see most_gates.
struct Beams {
    uint32_t at_us = 0;
    uint16_t dark = 0;
};

class GateWatch {
public:
    explicit GateWatch(EventBuffer& buffer) : buffer_(buffer) {}

    void begin(uint16_t watched, uint32_t now_us);
    void end() { watched_ = 0; }
    void take(Beams beams);
    void check(uint32_t now_us); // at least every 4 ms: what has been dark for too long

private:
    void change(uint8_t gate, Beams beams);
    void check_gate(uint8_t gate, uint32_t now_us);
    void pulse(uint8_t gate, uint32_t width_us);

    EventBuffer& buffer_;
    uint32_t dark_since_us_[most_gates] = {};
    uint16_t watched_ = 0;
    uint16_t dark_ = 0;
    uint16_t told_ = 0;    // has its pulse line, or never gets one
    uint16_t blocked_ = 0; // has its fault line
};

} // namespace controller
} // namespace dropledger
