#include "analysis/statistics/shares/chain_law.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace dropledger::statistics {

ChainCounts chain_counts(const RowCounts& counts, double crowding) {
    const double effective = std::max(1.0, crowding);
    const std::int64_t ended = counts.rows - (counts.ends_in_row ? 1 : 0);
    // A start can be at the first entry and after every entry that is no hit, the last one aside.
    const std::int64_t could_start =
        counts.entries - counts.hits + 1 - (counts.ends_in_row ? 0 : 1);
    return {.starts = static_cast<double>(counts.rows) / effective,
            .quiet = static_cast<double>(std::max<std::int64_t>(0, could_start - counts.rows)) /
                     effective,
            .ends = static_cast<double>(ended),
            .stays = static_cast<double>(counts.hits - counts.rows)};
}

ChainLaw chain_law(const ChainCounts& counts, Side side) {
    constexpr double least = 0.01; // keeps a law proper where one of the two was never seen
    switch (side) {
    case Side::upper:
        return {.start = {.a = counts.starts + 1.0, .b = std::max(least, counts.quiet)},
                .end = {.a = counts.ends + 0.25, .b = counts.stays + 0.5}};
    case Side::lower:
        return {.start = {.a = std::max(least, counts.starts), .b = counts.quiet + 1.0},
                .end = {.a = counts.ends + 0.5, .b = counts.stays + 0.25}};
    case Side::isolated:
        break;
    }
    return {.start = {.a = counts.starts + 0.5, .b = counts.quiet + 0.5},
            .end = {.a = counts.ends + 0.5, .b = counts.stays + 0.25}};
}

namespace {

// Abscissas and weights for ten points (Abramowitz & Stegun 1964, table 25.4).
constexpr std::array<WeightedValue, 5> gauss_legendre{{{0.1488743389816312, 0.2955242247147529},
                                                       {0.4333953941292472, 0.2692667193099963},
                                                       {0.6794095682990244, 0.2190863625159820},
                                                       {0.8650633666889845, 0.1494513491505806},
                                                       {0.9739065285171717, 0.0666713443086881}}};

constexpr std::array<double, 8> edges{0.0, 0.002, 0.02, 0.1, 0.4, 0.8, 0.98, 1.0};

} // namespace

std::vector<WeightedValue> spread_over(BetaShape shape) {
    std::vector<WeightedValue> values;
    for (std::size_t piece = 0; piece + 1 < edges.size(); ++piece) {
        const double half = (edges[piece + 1] - edges[piece]) / 2.0;
        const double centre = (edges[piece + 1] + edges[piece]) / 2.0;
        for (const WeightedValue& node : gauss_legendre)
            for (const double side : {-1.0, 1.0})
                values.push_back(
                    {beta_quantile(centre + side * half * node.value, shape), half * node.weight});
    }
    return values;
}

ShareLaw::ShareLaw(BetaShape start, std::vector<WeightedValue> mean_lengths)
    : start_(start), mean_lengths_(std::move(mean_lengths)) {
}

double ShareLaw::chance_at_most(double share) const {
    if (share <= 0.0)
        return 0.0;
    if (share >= 1.0)
        return 1.0;
    const double odds = share / (1.0 - share);
    double chance = 0.0;
    for (const WeightedValue& length : mean_lengths_)
        chance += length.weight * beta_cdf(std::min(1.0, odds / length.value), start_);
    return std::min(1.0, chance);
}

// Ridders' method: halving, and a guess beside the middle that soon is as good as exact.
double ShareLaw::quantile(double probability) const {
    double low = 0.0;
    double high = 1.0;
    double below = -probability;
    double above = 1.0 - probability;
    const auto narrow = [&](double at) {
        const double apart = chance_at_most(at) - probability;
        (apart < 0.0 ? low : high) = at;
        (apart < 0.0 ? below : above) = apart;
        return apart;
    };
    constexpr double digits = 1e-9;
    double guess = 0.5;
    for (int step = 0; step < 60 && high - low > digits * high; ++step) {
        const double middle = (low + high) / 2.0;
        const double reach = (high - low) / 2.0;
        const double product = below * above;
        const double apart = narrow(middle);
        const double moved = middle - reach * apart / std::sqrt(apart * apart - product);
        if (std::abs(moved - guess) <= digits * moved || apart == 0.0)
            return apart == 0.0 ? middle : moved;
        guess = moved;
        if (moved > low && moved < high)
            narrow(moved);
    }
    return (low + high) / 2.0;
}

ShareLaw share_law(const ChainLaw& law) {
    constexpr double shortest = 1e-12;
    std::vector<WeightedValue> lengths = spread_over(law.end);
    for (WeightedValue& length : lengths)
        length.value = 1.0 / std::max(shortest, length.value);
    return {law.start, std::move(lengths)};
}

} // namespace dropledger::statistics
