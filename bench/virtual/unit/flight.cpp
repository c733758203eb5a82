// Notation: u exit speed, w terminal speed, h height, g gravity.
// With v = w tanh(g t / w + a), a = artanh(u / w): h = (w²/g) ln(cosh(g t / w + a) / cosh a).
#include "bench/virtual/unit/flight.hpp"

#include "bench/virtual/unit/random.hpp"

#include <cmath>

namespace dropledger::bench_virtual {

namespace {

constexpr double g = 9.80665;

// artanh(u/w) and the argument of cosh at the end of the fall.
struct Arguments {
    double start;
    double end;
};

Arguments arguments(const Fall& fall) {
    const double w = fall.terminal_mps;
    const double ratio = fall.exit_speed_mps / w;
    const double a = 0.5 * plain_log((1.0 + ratio) / (1.0 - ratio));
    const double cosh_a = 1.0 / std::sqrt(1.0 - ratio * ratio);
    const double cosh_end = cosh_a * plain_exp(g * fall.height_m / (w * w));
    return {a, plain_log(cosh_end + std::sqrt(cosh_end * cosh_end - 1.0))};
}

} // namespace

double fall_seconds(const Fall& fall) {
    const double u = fall.exit_speed_mps;
    if (fall.terminal_mps <= 0.0)
        return (std::sqrt(u * u + 2.0 * g * fall.height_m) - u) / g;
    const Arguments at = arguments(fall);
    return fall.terminal_mps / g * (at.end - at.start);
}

// v² = w² - (w² - u²) e^(-2 g h / w²)
double fall_end_speed_mps(const Fall& fall) {
    const double u = fall.exit_speed_mps;
    const double w = fall.terminal_mps;
    if (w <= 0.0)
        return std::sqrt(u * u + 2.0 * g * fall.height_m);
    const double left = plain_exp(-2.0 * g * fall.height_m / (w * w));
    return std::sqrt(w * w - (w * w - u * u) * left);
}

} // namespace dropledger::bench_virtual
