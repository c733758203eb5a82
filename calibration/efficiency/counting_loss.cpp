#include "calibration/efficiency/counting_loss.hpp"

#include <cmath>

namespace dropledger::calibration {

std::optional<double> rate_not_extending(double counted_per_s, double dead_s) {
    const double live = 1.0 - counted_per_s * dead_s;
    return live > 0.0 ? std::optional{counted_per_s / live} : std::nullopt;
}

std::optional<double> rate_extending(double counted_per_s, double dead_s) {
    const double greatest = dead_s > 0.0 ? 1.0 / (std::exp(1.0) * dead_s) : counted_per_s;
    if (counted_per_s > greatest)
        return std::nullopt;
    constexpr int enough = 200;
    double rate = counted_per_s;
    for (int i = 0; i < enough; ++i) {
        // Newton on ln n − nτ − ln m, from below, where it is concave: never beyond the root
        const double slope = 1.0 / rate - dead_s;
        if (!(slope > 0.0))
            break;
        const double step = (std::log(counted_per_s / rate) + rate * dead_s) / slope;
        rate += step;
        if (std::fabs(step) <= 1e-14 * rate)
            break;
    }
    return rate;
}

Overlap overlap(double seeds_per_s, double pulse_s) {
    const double alone = std::exp(-seeds_per_s * pulse_s);
    const double followed = -std::expm1(-seeds_per_s * pulse_s);
    return {.share_followed = followed,
            .pulses_per_s = seeds_per_s * alone,
            .seeds_per_pulse = 1.0 / alone,
            .probability = {alone, alone * followed, alone * followed * followed}};
}

} // namespace dropledger::calibration
