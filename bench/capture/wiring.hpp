// Which signal of a capture is what: gates, commands, travel. Read from a TOML file.
//
// Units: in the names. Undefined when: a signal is named twice, a channel twice or with nothing
// wired, travel in no way or in two, a key that nobody knows: refused with file:line.
#pragma once

#include "analysis/base/result.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace dropledger::capture {

struct GateWire {
    std::size_t wire = 0;
    int channel = 0;
    int gate = 0;           // 0: the unit's own, 1: the bench's
    bool dark_high = false; // level while the beam is interrupted
    std::int64_t glitch_us = 0;
};

struct CommandWire {
    std::size_t wire = 0;
    int channel = 0;
    bool rising = true; // the edge that is the command
    std::int64_t glitch_us = 0;
};

struct Encoder {
    std::size_t a = 0;
    std::size_t b = 0;
    double um_per_count = 0.0; // four counts a period; below 0: A leads backwards
};
struct LengthPulses {
    std::size_t wire = 0;
    double um_per_pulse = 0.0; // rising edges
};
struct StatedSpeed {
    double um_per_s = 0.0;
};
using TravelWiring = std::variant<StatedSpeed, Encoder, LengthPulses>;

struct Wiring {
    std::vector<std::string> wires; // the signals' names; everything else counts into it
    TravelWiring travel;
    std::vector<GateWire> gates;
    std::vector<CommandWire> commands;
    std::optional<double> sample_rate_hz; // where the capture does not say it
    std::int64_t shortest_dark_us = 200;  // of a seed: the samples must be closer
};

constexpr std::int64_t most_glitch_us = 10'000;
constexpr int most_channel = 15;

// `where` is for messages.
[[nodiscard]] Result<Wiring> parse_wiring(std::string_view text, const std::string& where);

} // namespace dropledger::capture
