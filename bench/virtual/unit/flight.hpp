// Free fall through still air with quadratic drag.
//
// Units: metres, seconds, m/s. Terminal speed 0 means no air.
// Assumes: the seed falls straight down, its exit speed below its terminal speed.
// Source: the equation of motion dv/dt = g (1 - v²/w²), integrated; g = 9.80665 m/s² (standard
// value).
#pragma once

namespace dropledger::bench_virtual {

struct Fall {
    double height_m = 0.0;
    double exit_speed_mps = 0.0;
    double terminal_mps = 0.0;
};

[[nodiscard]] double fall_seconds(const Fall& fall);
[[nodiscard]] double fall_end_speed_mps(const Fall& fall);

} // namespace dropledger::bench_virtual
