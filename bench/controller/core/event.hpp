// What happened on the bench, and how few bytes it is kept in until the host has it.
//
// Units: µs of the controller's counter (wraps at 2^32), µm of travel.
// Assumes: at most 8 channels of 2 gates, a WIDTH below 65,536 µs, |position| below 2^47 µm.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

constexpr uint8_t most_channels = 8;
constexpr uint8_t most_gates = 16; // bit `channel` is gate 0 of it, bit 8 + `channel` gate 1
constexpr uint8_t no_channel = 15;

enum class Kind : uint8_t {
    hello,
    travel,
    drop,
    pulse,
    beat,
    fault,
    armed,
    started,
    halted,
    refused,
    hole, // never a line: so many lines found no room here
};

// Every word that a line can hold: faults, reasons of `halted`, codes of `refused`.
enum class Word : uint8_t {
    none,
    estop,
    guard,
    motor_stall,
    gate_blocked,
    encoder_skipped,
    edges_lost,
    host_silent,
    host,
    count,
    fault,
    length,
    crc,
    unknown,
    syntax,
    seq,
    gone,
    state,
    mode,
    spacing,
    speed,
    channels,
    drops,
};

struct Event {
    Kind kind = Kind::hello;
    uint8_t channel = no_channel; // drop, pulse, fault
    uint8_t gate = 0;             // pulse
    Word word = Word::none;       // fault, halted, refused
    uint32_t tick_us = 0;         // every one but a hole
    uint32_t number = 0;          // drop: INDEX · pulse: WIDTH · beat: BACKLOG · hole: how many
    uint32_t count = 0;           // drop: COUNT · beat: LOST
    int64_t position_um = 0;      // travel, drop
};

constexpr uint8_t largest_packed = 16;

// The size of a packed event, by its first byte.
[[nodiscard]] uint8_t packed_size(uint8_t first);
[[nodiscard]] bool is_hole(uint8_t first);
[[nodiscard]] uint8_t first_byte(const Event& event);
void pack(const Event& event, uint8_t* bytes); // packed_size(first_byte(event)) of them
[[nodiscard]] Event unpack(const uint8_t* bytes);

// Lines that must get through though measurements do not: greetings, states, faults, refusals.
[[nodiscard]] bool must_get_through(Kind kind);

[[nodiscard]] Event state_event(Kind kind, Word word, uint32_t tick_us);
[[nodiscard]] Event fault_event(uint8_t channel, Word word, uint32_t tick_us);

} // namespace controller
} // namespace dropledger
