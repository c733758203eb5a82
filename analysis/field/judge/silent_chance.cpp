#include "analysis/field/judge/silent_chance.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

struct Posterior {
    double log_evidence = 0.0; // of the counts, up to a constant of theirs
    double missing = 0.0;      // q/s
};

// By quadrature over s >= overlooked, with a flat prior for q.
Posterior posterior(const Background& background, double overlooked) {
    constexpr int steps = 800;
    const double n = std::max(background.drops, 1.0);
    const double seen = std::max(background.drops - background.silent, 0.0);
    const double mode = std::clamp(background.silent / n, overlooked, 1.0);
    const double width = 8.0 * std::sqrt(mode * (1.0 - mode) / n) + 30.0 / n;
    const double low = std::max(overlooked, mode - width);
    const double step = (std::min(1.0, mode + width) - low) / steps;
    const auto log_weight = [&](double s) {
        return background.silent * std::log(s) + (seen > 0.0 ? seen * std::log1p(-s) : 0.0);
    };
    const double top = log_weight(std::clamp(mode, 1e-12, 1.0 - 1e-12));
    double weights = 0.0;
    double sum = 0.0;
    for (int i = 0; i < steps; ++i) {
        const double s = low + (i + 0.5) * step;
        const double weight = std::exp(log_weight(s) - top);
        weights += weight;
        sum += weight * (s - overlooked) / (s * (1.0 - overlooked));
    }
    if (!(weights > 0.0))
        return {-1e300, 0.0};
    return {top + std::log(weights * step / (1.0 - overlooked)),
            std::clamp(sum / weights, 0.0, 1.0)};
}

} // namespace

Chance chance_of(const Background& background, const Overlooked& overlooked) {
    std::vector<Posterior> all;
    double top = -1e300;
    for (const double one : overlooked) {
        all.push_back(posterior(background, one));
        top = std::max(top, all.back().log_evidence);
    }
    double weights = 0.0;
    double sum = 0.0;
    for (const Posterior& one : all) {
        const double weight = std::exp(one.log_evidence - top);
        weights += weight;
        sum += weight * one.missing;
    }
    return {all.front().missing, all.back().missing, sum / weights};
}

double missing_when_silent(const Background& background, double overlooked) {
    return overlooked <= 0.0 ? 1.0 : posterior(background, overlooked).missing;
}

} // namespace dropledger::field
