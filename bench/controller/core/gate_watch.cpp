#include "bench/controller/core/gate_watch.hpp"

namespace dropledger {
namespace controller {

namespace {

uint16_t bit(uint8_t gate) {
    return static_cast<uint16_t>(1U << gate);
}

bool has(uint16_t set, uint8_t gate) {
    return (set & bit(gate)) != 0;
}

void put(uint16_t& set, uint8_t gate, bool in) {
    set = static_cast<uint16_t>(in ? set | bit(gate) : set & ~bit(gate));
}

uint8_t channel_of(uint8_t gate) {
    return static_cast<uint8_t>(gate % most_channels);
}

} // namespace

void GateWatch::begin(uint16_t watched, uint32_t now_us) {
    watched_ = watched;
    told_ = dark_;
    blocked_ = 0;
    for (uint32_t& since_us : dark_since_us_)
        since_us = now_us;
}

void GateWatch::take(Beams beams) {
    const auto changed = static_cast<uint16_t>(dark_ ^ beams.dark);
    if (changed == 0)
        return;
    uint16_t left = changed;
    for (uint8_t gate = 0; left != 0; ++gate, left = static_cast<uint16_t>(left >> 1))
        if ((left & 1U) != 0)
            change(gate, beams);
    dark_ = beams.dark;
}

void GateWatch::change(uint8_t gate, Beams beams) {
    if (has(beams.dark, gate)) {
        dark_since_us_[gate] = beams.at_us;
        put(told_, gate, false);
        put(blocked_, gate, false);
        return;
    }
    const uint32_t width_us = beams.at_us - dark_since_us_[gate];
    if (has(watched_, gate) && !has(told_, gate))
        pulse(gate, width_us < longest_pulse_us ? width_us : longest_pulse_us);
}

void GateWatch::check(uint32_t now_us) {
    const auto waiting = static_cast<uint16_t>(watched_ & dark_ & ~blocked_);
    if (waiting == 0)
        return;
    for (uint8_t gate = 0; gate < most_gates; ++gate)
        if (has(waiting, gate))
            check_gate(gate, now_us);
}

void GateWatch::check_gate(uint8_t gate, uint32_t now_us) {
    const uint32_t dark_us = now_us - dark_since_us_[gate];
    if (dark_us >= 0x80000000U)
        return; // it went dark a moment after `now`
    if (dark_us >= longest_pulse_us && !has(told_, gate)) {
        pulse(gate, longest_pulse_us);
        put(told_, gate, true);
    }
    if (dark_us >= blocked_after_us) {
        buffer_.keep(fault_event(channel_of(gate), Word::gate_blocked, now_us));
        put(blocked_, gate, true);
    }
}

void GateWatch::pulse(uint8_t gate, uint32_t width_us) {
    Event event;
    event.kind = Kind::pulse;
    event.channel = channel_of(gate);
    event.gate = gate < most_channels ? 0 : 1;
    event.tick_us = dark_since_us_[gate];
    event.number = width_us > 0 ? width_us : 1;
    buffer_.keep(event);
}

} // namespace controller
} // namespace dropledger
