#include "analysis/base/fall.hpp"

#include <cmath>
#include <stdexcept>

namespace dropledger {

namespace {

constexpr double g = standard_gravity_mps2;

void check(double length_or_time, double speed, bool speed_may_be_zero) {
    if (!(length_or_time >= 0.0) || !(speed >= 0.0) || (!speed_may_be_zero && speed <= 0.0) ||
        !std::isfinite(length_or_time) || !std::isfinite(speed))
        throw std::invalid_argument("a fall needs heights, times and speeds that are not negative");
}

} // namespace

double free_fall_seconds(double height_m, double exit_speed_mps) {
    // (√(u² + 2gh) − u)/g loses digits where u is large against √(2gh); this form does not.
    check(height_m, exit_speed_mps, true);
    const double end = std::sqrt(exit_speed_mps * exit_speed_mps + 2.0 * g * height_m);
    return end > 0.0 ? 2.0 * height_m / (end + exit_speed_mps) : 0.0;
}

double drag_fall_seconds(double height_m, double terminal_mps) {
    check(height_m, terminal_mps, false);
    // arcosh e^y = y + ln(1 + √(1 − e^(−2y)))
    const double y = g * height_m / (terminal_mps * terminal_mps);
    return terminal_mps / g * (y + std::log1p(std::sqrt(-std::expm1(-2.0 * y))));
}

} // namespace dropledger
