#include "bench/virtual/unit/travel.hpp"

#include "bench/virtual/unit/random.hpp"

#include <cmath>

namespace dropledger::bench_virtual {

namespace {

// 16 p (1/2 - p) on the first half of a period, its mirror image on the second.
double wave(double phase) {
    return phase < 0.5 ? 16.0 * phase * (0.5 - phase) : -wave(phase - 0.5);
}

double wave_integral(double phase) {
    if (phase >= 0.5)
        return 1.0 / 3.0 - wave_integral(phase - 0.5);
    return phase * phase * (4.0 - 16.0 / 3.0 * phase);
}

double fraction(double x) {
    return x - plain_floor(x);
}

} // namespace

Travel::Travel(const TravelSpec& spec)
    : speed_um_per_us_(static_cast<double>(spec.speed_um_s) / 1e6), ripple_(spec.ripple),
      period_us_(spec.period_s * 1e6) {
}

double Travel::position_um(double at_us) const {
    const double extra_us = ripple_ * period_us_ * wave_integral(fraction(at_us / period_us_));
    return speed_um_per_us_ * (at_us + extra_us);
}

double Travel::speed_um_per_us(double at_us) const {
    return speed_um_per_us_ * (1.0 + ripple_ * wave(fraction(at_us / period_us_)));
}

// Newton's method; the ripple is small, so it settles in a few steps.
double Travel::time_us(double position) const {
    double at_us = position / speed_um_per_us_;
    for (int step = 0; step < 20; ++step) {
        const double off_um = position_um(at_us) - position;
        if (std::abs(off_um) < 1e-3)
            break;
        at_us -= off_um / speed_um_per_us(at_us);
    }
    return at_us;
}

} // namespace dropledger::bench_virtual
