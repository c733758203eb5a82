#include "analysis/ledger/registration.hpp"

#include "analysis/base/result.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <numbers>

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

// Mean resultant length on the circle of one spacing: 1 all alike, 0 anywhere.
double resultant_length(const std::vector<std::int64_t>& residuals, std::int64_t spacing) {
    const double turn = 2.0 * std::numbers::pi / static_cast<double>(spacing);
    double cosines = 0.0;
    double sines = 0.0;
    for (const std::int64_t residual : residuals) {
        cosines += std::cos(turn * static_cast<double>(residual));
        sines += std::sin(turn * static_cast<double>(residual));
    }
    return std::min(1.0, std::hypot(cosines, sines) / static_cast<double>(residuals.size()));
}

double scatter_of(double resultant, std::int64_t spacing) {
    const auto whole = static_cast<double>(spacing);
    if (resultant <= 0.0)
        return whole;
    return std::min(whole,
                    whole / (2.0 * std::numbers::pi) * std::sqrt(-2.0 * std::log(resultant)));
}

// Rayleigh's test: evenly spread residuals crowd as much with a chance of exp(−n·R²), to first
// order.
constexpr double crowding_needed = 6.907755; // −ln 0.001

Identified identified_by(const Registration& found, double resultant, double scatter,
                         std::int64_t spacing) {
    const auto n = static_cast<double>(found.landings);
    const auto whole = static_cast<double>(spacing);
    if (n < crowding_needed)
        return Identified::few_landings;
    if (6.0 * scatter >= whole)
        return Identified::scattered;
    if (n * resultant * resultant < crowding_needed)
        return Identified::few_landings;
    const double median_error = std::sqrt(std::numbers::pi / 2.0 / n) * scatter;
    const auto distance = static_cast<double>(std::abs(found.offset_um));
    return 2.0 * (distance + 3.0 * median_error) >= whole ? Identified::half_a_spacing
                                                          : Identified::yes;
}

constexpr std::array<IdentifiedRow, 5> identified_rows{
    {{Identified::yes, "identified", "it is"},
     {Identified::no_landings, "no_landings",
      "no seed landed within half a spacing of a commanded place"},
     {Identified::few_landings, "few_landings",
      "too few seeds landed near a commanded place to tell it from chance"},
     {Identified::scattered, "scattered",
      "landings scatter by a sixth of the spacing or more, so the nearest drop need not be a "
      "seed's own"},
     {Identified::half_a_spacing, "half_a_spacing",
      "landings lie in the middle between two drops, and which of the two is theirs can't be "
      "told"}}};

} // namespace

const IdentifiedRow& row_of(Identified identified) {
    for (const IdentifiedRow& row : identified_rows)
        if (row.identified == identified)
            return row;
    throw BrokenInvariant("a kind of registration without words");
}

Registration registration(std::vector<std::int64_t> residuals, std::int64_t spacing_um) {
    Registration found;
    if (residuals.empty() || spacing_um <= 0)
        return found;
    std::sort(residuals.begin(), residuals.end());
    const double resultant = resultant_length(residuals, spacing_um);
    const double scatter = scatter_of(resultant, spacing_um);
    const std::int64_t centre = densest_half(residuals, spacing_um);
    for (std::int64_t& residual : residuals)
        residual = wrapped(residual - centre, spacing_um);
    found.offset_um = wrapped(centre + median(residuals), spacing_um);
    found.scatter_um = std::llround(scatter);
    found.landings = residuals.size();
    found.identified = identified_by(found, resultant, scatter, spacing_um);
    return found;
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
