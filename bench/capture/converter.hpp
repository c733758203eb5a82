// From the changes of wires to the lines of a log: glitches out, beams to pulses, edges to drops,
// steps to travel.
//
// Units: picoseconds. A beam dark for 45 ms or longer is a pulse of 45 ms, as a controller reports
// it; after 250 ms the gate is blocked. What was dark when the capture began is no pulse.
// Undefined when: the samples lie farther apart than the shortest seed is dark: an error.
#pragma once

#include "bench/capture/course.hpp"
#include "bench/capture/formats/change.hpp"
#include "bench/capture/log_lines.hpp"
#include "bench/capture/steady_level.hpp"
#include "bench/capture/wiring.hpp"

#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <vector>

namespace dropledger::capture {

struct ChannelCounts {
    std::uint64_t drops = 0;
    std::array<std::uint64_t, 2> pulses{};
    std::array<std::uint64_t, 2> thin{}; // pulses of at most two samples
    std::uint64_t blocked = 0;
    std::uint64_t glitches = 0; // of all its wires
};

struct Counts {
    std::map<int, ChannelCounts> channels;
    std::uint64_t steps_lost = 0; // both signals of an encoder changed within one sample
    double travelled_um = 0.0;
};

struct DropSettings {
    std::map<int, std::int64_t> lead_us; // of each channel that states one
    std::uint32_t seeds = 1;             // a drop
};

class Converter final : public ChangeSink {
public:
    Converter(const Wiring& wiring, const DropSettings& drops, std::int64_t step_ps,
              droplog::Writer& writer);
    Converter(const Converter&) = delete;

    void begin(std::string_view boot);
    [[nodiscard]] Status change(const Change& change) override;
    [[nodiscard]] Status until(std::int64_t at_ps) override;
    void end(std::int64_t at_ps);

    [[nodiscard]] const Counts& counts() const { return counts_; }

private:
    struct Input {
        SteadyLevel level;
        std::function<void(SteadyLevel::Edge)> on_edge; // nothing for a wire without a use
        int channel = -1;
    };
    struct Beam {
        int channel = 0;
        int gate = 0;
        std::size_t wire = 0;
        bool dark_high = false;
        std::optional<std::int64_t> dark_since_ps; // somebody saw it go dark
        bool told = false;                         // has its pulse
        std::optional<std::int64_t> blocked_at_ps; // when it will be
    };

    void add_beam(const GateWire& wire);
    void add_command(const CommandWire& wire, const DropSettings& drops);
    void add_travel(const TravelWiring& wiring);
    void beam_edge(Beam& beam, SteadyLevel::Edge edge);
    void pulse(const Beam& beam, std::int64_t width_ps);
    void encoder_edge(const Encoder& encoder, bool of_a, SteadyLevel::Edge edge);
    void begin_level(const Change& change);
    void settle(std::int64_t now_ps);
    void watch_beams(std::int64_t now_ps);

    std::int64_t step_ps_;
    std::int64_t hold_ps_;
    Course course_;
    LogLines lines_;
    std::vector<Input> inputs_;
    std::vector<Beam> beams_;
    std::optional<std::int64_t> encoder_edge_ps_;
    std::int64_t due_ps_ = never_ps; // the next thing that time alone brings about
    int channels_ = 0;
    Counts counts_;
};

} // namespace dropledger::capture
