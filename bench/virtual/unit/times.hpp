// Nominal times of a unit: what a maker's sheet would say.
//
// Units: µs. Assumes: seeds fall with drag from rest (disc) or with the valve's speed.
#pragma once

#include "bench/virtual/unit/scenario.hpp"

#include <array>

namespace dropledger::bench_virtual {

struct UnitTimes {
    double disc_to_valve_us = 0.0;
    double valve_to_ground_us = 0.0;
    struct AtGate {
        double from_start_us = 0.0; // from the disc (above) or the valve (below)
        double to_ground_us = 0.0;
        double speed_mps = 0.0;
    };
    std::array<AtGate, 2> gates;
    double lead_us = 0.0; // in force
};
[[nodiscard]] UnitTimes unit_times(const UnitSpec& unit, const CropSpec& crop);

} // namespace dropledger::bench_virtual
