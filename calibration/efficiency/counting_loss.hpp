// What a gate cannot count: seeds that overlap in its beam, and seeds while it is blind.
//
// Units: rates per second, times in seconds.
// Assumes: arrivals at random (Poisson): a metered flow loses less, so these are bounds for it.
// Undefined when: a rate that no true rate gives (dead time used up): std::nullopt.
// Source: dead time as in Knoll, Radiation Detection and Measurement (from memory); overlap: gaps
// below the pulse length.
#pragma once

#include <optional>
#include <vector>

namespace dropledger::calibration {

// True rate from the counted one; blind for a fixed time after each pulse counted.
[[nodiscard]] std::optional<double> rate_not_extending(double counted_per_s, double dead_s);
// The same where a seed during the blind time makes it longer; the lower of the two roots.
[[nodiscard]] std::optional<double> rate_extending(double counted_per_s, double dead_s);

struct Overlap {
    double share_followed = 0.0; // of seeds with the next one within a pulse length
    double pulses_per_s = 0.0;
    double seeds_per_pulse = 1.0;
    std::vector<double> probability; // of 1, 2, 3 seeds in a pulse
};
[[nodiscard]] Overlap overlap(double seeds_per_s, double pulse_s);

} // namespace dropledger::calibration
