// A light gate: what it makes of the seeds and the dust that cross its beam.
//
// Units: µs since the start, depth as a share of the light 0 … 1 (reported in thousandths).
// Assumes: crossings that overlap in time become one pulse whose light losses multiply; a crossing
// that starts within the dead time after a pulse is not seen. Each seed is overlooked on its own.
#pragma once

#include "bench/virtual/unit/random.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace dropledger::bench_virtual {

struct Pulse {
    double start_us = 0.0;
    double width_us = 0.0;
    double depth = 0.0;
    std::int64_t owner = 0;  // truth: whose first seed it was
    std::uint32_t seeds = 0; // truth: seeds in it, 0 for dust
};

// What became of one crossing that was announced to the gate.
struct CrossingEnd {
    std::int64_t owner = 0;
    bool starts_pulse = false; // reported, and the first in its pulse
};

struct SeedCrossing {
    double at_us = 0.0;
    double seed_mm = 0.0;
    std::int64_t owner = 0;
    std::int64_t ordinal = 0; // how far along the run, for a gate that fades
};

class Gate {
public:
    Gate(const GateSpec& spec, double seed_speed_mps);

    // True where the seed will take part in a pulse; then a CrossingEnd follows from settle().
    bool cross(const SeedCrossing& seed, Random& random);
    void debris(double at_us, std::int64_t owner, Random& random);

    // Everything that starts before `bound_us` is known: closes the pulses that are over.
    void settle(double bound_us);
    // Found since they were last forgotten.
    [[nodiscard]] const std::vector<Pulse>& pulses() const { return pulses_; }
    [[nodiscard]] const std::vector<CrossingEnd>& ends() const { return ends_; }
    void forget_found();
    // Start of the pulse still open, if any.
    [[nodiscard]] std::optional<double> open_since() const {
        return open_.empty() ? std::nullopt : std::optional(open_.front().start_us);
    }

private:
    struct Crossing {
        double start_us = 0.0;
        double end_us = 0.0;
        double depth = 0.0;
        std::int64_t owner = 0;
        std::uint32_t seeds = 0;
    };

    [[nodiscard]] double fade(std::int64_t ordinal, double at_end) const;
    void add(const Crossing& crossing);
    void close();

    GateSpec spec_;
    double speed_mm_per_us_;
    std::vector<Crossing> ahead_; // sorted by start
    std::vector<Crossing> open_;  // the members of the open pulse; the first carries its sum
    std::vector<Pulse> pulses_;
    std::vector<CrossingEnd> ends_;
    double blind_until_us_ = -1.0;
};

} // namespace dropledger::bench_virtual
