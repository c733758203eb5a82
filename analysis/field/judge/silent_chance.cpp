#include "analysis/field/judge/silent_chance.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

// Of a share that a bad meter leaves out, or that a gate overlooks which is not as stated.
double density(double share) {
    constexpr double most = 0.5;
    constexpr double beyond = 0.05; // in all
    return share <= most ? (1.0 - beyond) / most : beyond / (1.0 - most);
}

struct Posterior {
    double log_evidence = -1e300; // of the counts, up to a constant of theirs
    double missing = 0.0;         // P(missing | silent)
};

double meter_prior(double q) {
    constexpr double usual = 0.015;
    constexpr double bad = 0.2;
    return (1.0 - bad) * std::exp(-q / usual) / usual + bad * density(q);
}

// By quadrature over s >= overlooked.
Posterior posterior(const Background& background, double overlooked) {
    constexpr int steps = 400;
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
        const double q = (s - overlooked) / (1.0 - overlooked);
        const double weight = std::exp(log_weight(s) - top) * meter_prior(q);
        weights += weight;
        sum += weight * q / s;
    }
    if (!(weights > 0.0))
        return {};
    return {top + std::log(weights * step / (1.0 - overlooked)),
            std::clamp(sum / weights, 0.0, 1.0)};
}

struct Weighed {
    Posterior at;
    double prior = 0.0;
    bool holds = false;
};

std::vector<Weighed> all_of(const Background& background, const StatedGate& gate) {
    constexpr int nodes = 120;
    std::vector<Weighed> all;
    const auto stated = static_cast<double>(gate.overlooked.size());
    for (const double f : gate.overlooked)
        all.push_back({posterior(background, f), gate.trust / stated, true});
    for (int i = 0; i < nodes; ++i) {
        const double f = (i + 0.5) / nodes;
        all.push_back({posterior(background, f), (1.0 - gate.trust) * density(f) / nodes, false});
    }
    return all;
}

} // namespace

SilentChance chance_of(const Background& background, const StatedGate& gate) {
    constexpr double beyond_belief = 0.01; // on either side
    std::vector<Weighed> all = all_of(background, gate);
    double top = -1e300;
    for (const Weighed& one : all)
        top = std::max(top, one.at.log_evidence);
    double weights = 0.0;
    for (Weighed& one : all) {
        one.prior *= std::exp(one.at.log_evidence - top); // now its posterior weight
        weights += one.prior;
    }
    std::sort(all.begin(), all.end(),
              [](const Weighed& a, const Weighed& b) { return a.at.missing < b.at.missing; });
    SilentChance found;
    found.chance = {0.0, 1.0, 0.0};
    double best = 0.0;
    double below = 0.0;
    for (const Weighed& one : all) {
        const double weight = one.prior / weights;
        best += weight * one.at.missing;
        found.holds += one.holds ? weight : 0.0;
        if (below <= beyond_belief)
            found.chance.low = one.at.missing;
        if (below < 1.0 - beyond_belief)
            found.chance.high = one.at.missing;
        below += weight;
    }
    found.chance.best = best;
    return found;
}

double missing_when_silent(const Background& background, double overlooked) {
    return overlooked <= 0.0 ? 1.0 : posterior(background, overlooked).missing;
}

} // namespace dropledger::field
