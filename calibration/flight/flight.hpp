// How long a seed falls from a gate to the ground, with its uncertainty: from geometry, or from
// landings measured by rule.
//
// Units: in the names; u is a standard uncertainty.
// Assumes: a fall straight down; with a terminal speed, quadratic drag.
// Undefined when: a height or speed that cannot be, an exit speed at or above the terminal speed,
// fewer than 3 landings.
// Source: analysis/base/fall.hpp; law of propagation, JCGM 100, derivatives by central differences.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::calibration {

struct Input {
    double value = 0.0;
    double u = 0.0;
};

struct FlightGeometry {
    Input height_mm;
    Input exit_mps;                    // downwards, at the gate
    std::optional<Input> terminal_mps; // none: without air
};

// A seed that falls from rest at `from_mm` over the ground, past a gate at `gate_mm` over it.
struct GateHeights {
    Input from_mm;
    Input gate_mm;
    std::optional<Input> terminal_mps; // none: without air
};

struct FlightResult {
    statistics::Estimate flight_us;
    double u_us = 0.0;
    std::int64_t landings = 0;        // 0: from geometry
    std::optional<double> scatter_us; // from seed to seed
};

// Seconds; a fall that begins with the exit speed, through air where there is a terminal speed.
[[nodiscard]] double flight_seconds(double height_m, double exit_mps,
                                    std::optional<double> terminal_mps);

[[nodiscard]] Result<FlightResult> flight(const FlightGeometry& geometry, Confidence confidence);
// From the gate to the ground.
[[nodiscard]] Result<FlightResult> flight_below(const GateHeights& heights, Confidence confidence);

// One seed: travel stood at position_mm and ran at speed_mps when the gate saw it; it lay at
// landing_mm.
struct Landing {
    double position_mm = 0.0;
    double speed_mps = 0.0;
    double landing_mm = 0.0;
};

// CSV with the columns position_mm, speed_mps, landing_mm.
[[nodiscard]] Result<std::vector<Landing>> read_landings(std::string_view text,
                                                         const std::string& file);

// `rule_u_mm`: what all landings share, such as where the rule's zero lies.
[[nodiscard]] Result<FlightResult> flight(const std::vector<Landing>& landings, double rule_u_mm,
                                          Confidence confidence);

} // namespace dropledger::calibration
