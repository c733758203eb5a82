// How long a seed falls from a gate to the ground.
//
// Units: metres, seconds, m/s. Throws std::invalid_argument where a height or speed is negative or
// no number.
// Source: h = u·f + g·f²/2 without air; with quadratic drag from rest h = (w²/g)·ln cosh(g·f/w), w
// the terminal speed; g = 9.80665 m/s², the standard value, exact by definition (3rd CGPM 1901).
#pragma once

namespace dropledger {

constexpr double standard_gravity_mps2 = 9.80665;

// Without air, let go with speed u downwards.
[[nodiscard]] double free_fall_seconds(double height_m, double exit_speed_mps);

// Through air, from rest; the terminal speed is above 0.
[[nodiscard]] double drag_fall_seconds(double height_m, double terminal_mps);

} // namespace dropledger
