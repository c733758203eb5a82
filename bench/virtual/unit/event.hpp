// What happens on the virtual bench, and the truth about it that never goes over the wire.
//
// Units: µs since `go`, µm of travel.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace dropledger::bench_virtual {

enum class EventKind : std::uint8_t { travel, drop, pulse };

struct Event {
    std::int64_t at_us = 0;   // when it happened
    std::int64_t send_us = 0; // when its line leaves, up to 50 ms later
    EventKind kind = EventKind::travel;
    std::int16_t channel = -1;
    std::uint16_t gate = 0;
    std::uint32_t index = 0;       // drop
    std::uint32_t count = 0;       // drop
    std::uint32_t width_us = 0;    // pulse
    std::uint32_t depth_milli = 0; // pulse
    std::int64_t position_um = 0;  // travel, drop
    std::uint32_t true_seeds = 0;  // pulse, truth: 0 for dust
    std::int64_t cause_us = 0;     // truth: when the drop, or the stray or dust itself, began
};

enum class TruthKind : std::uint8_t {
    drop,   // a commanded drop
    seed,   // line mode: one place of the flow, filled or not
    stray,  // a seed that slipped past the closed valve
    debris, // dust in a beam
    held,   // seeds that came too late for the last opening and stayed in the tube
};

struct Truth {
    TruthKind kind = TruthKind::drop;
    std::int16_t channel = 0;
    std::int64_t index = -1; // of the drop, or the place in the flow; -1 for strays and dust
    std::int64_t position_um = 0;
    std::uint32_t seeds = 0; // that left the unit
    std::vector<std::int64_t> landings_um;
    std::uint32_t seen[2] = {0, 0}; // pulses of each gate that began with this drop's seeds
    double cause_us = 0.0;
};

using TruthSink = std::function<void(const Truth&)>;

// `channel,index,…` and one row, without LF; see the README of this room.
[[nodiscard]] std::string truth_header();
[[nodiscard]] std::string truth_row(const Truth& truth, int run);

} // namespace dropledger::bench_virtual
