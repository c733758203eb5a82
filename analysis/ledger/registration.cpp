#include "analysis/ledger/registration.hpp"

#include <algorithm>
#include <cstdlib>

namespace dropledger::ledger {

namespace {

// value brought into (−spacing/2, spacing/2]
std::int64_t wrapped(std::int64_t value, std::int64_t spacing) {
    std::int64_t rest = value % spacing;
    if (rest < 0)
        rest += spacing;
    return 2 * rest > spacing ? rest - spacing : rest;
}

std::int64_t median(std::vector<std::int64_t>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    if (values.size() % 2 == 1)
        return *middle;
    const std::int64_t below = *std::max_element(values.begin(), middle);
    const std::int64_t sum = below + *middle;
    return sum >= 0 ? (sum + 1) / 2 : (sum - 1) / 2;
}

// The middle of the shortest arc that holds half of the sorted residuals.
std::int64_t densest_half(const std::vector<std::int64_t>& sorted, std::int64_t spacing) {
    const std::size_t n = sorted.size();
    const std::size_t half = (n + 1) / 2;
    const auto at = [&](std::size_t i) { return i < n ? sorted[i] : sorted[i - n] + spacing; };
    std::size_t best = 0;
    for (std::size_t i = 1; i < n; ++i)
        if (at(i + half - 1) - at(i) < at(best + half - 1) - at(best))
            best = i;
    return (at(best) + at(best + half - 1)) / 2;
}

} // namespace

std::int64_t registration_um(std::vector<std::int64_t> residuals, std::int64_t spacing_um) {
    if (residuals.empty() || spacing_um <= 0)
        return 0;
    std::sort(residuals.begin(), residuals.end());
    const std::int64_t centre = densest_half(residuals, spacing_um);
    for (std::int64_t& residual : residuals)
        residual = wrapped(residual - centre, spacing_um);
    return wrapped(centre + median(residuals), spacing_um);
}

std::vector<std::int64_t> residuals_um(std::span<const std::int64_t> landings_um,
                                       std::span<const std::int64_t> drops_um,
                                       std::int64_t spacing_um) {
    std::vector<std::int64_t> residuals;
    if (drops_um.empty())
        return residuals;
    residuals.reserve(landings_um.size());
    std::size_t drop = 0;
    for (const std::int64_t landing : landings_um) {
        while (drop + 1 < drops_um.size() && 2 * landing > drops_um[drop] + drops_um[drop + 1])
            ++drop;
        const std::int64_t residual = landing - drops_um[drop];
        if (2 * std::abs(residual) <= spacing_um)
            residuals.push_back(residual);
    }
    return residuals;
}

} // namespace dropledger::ledger
