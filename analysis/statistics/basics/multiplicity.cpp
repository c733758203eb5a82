#include "analysis/statistics/basics/multiplicity.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>

namespace dropledger::statistics {

namespace {

std::vector<std::size_t> ascending(std::span<const double> p_values) {
    std::vector<std::size_t> order(p_values.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return p_values[a] < p_values[b]; });
    return order;
}

// From the largest p-value down, never above the one before; factor(rank) with rank 1 = smallest.
template <class Factor>
std::vector<double> step_up(std::span<const double> p_values, const Factor& factor) {
    const auto order = ascending(p_values);
    std::vector<double> adjusted(p_values.size());
    double least = 1.0;
    for (std::size_t rank = order.size(); rank > 0; --rank) {
        const std::size_t at = order[rank - 1];
        least = std::min(least, factor(rank) * p_values[at]);
        adjusted[at] = least;
    }
    return adjusted;
}

} // namespace

std::vector<double> holm(std::span<const double> p_values) {
    const auto order = ascending(p_values);
    std::vector<double> adjusted(p_values.size());
    double most = 0.0;
    for (std::size_t i = 0; i < order.size(); ++i) {
        const double scaled = static_cast<double>(order.size() - i) * p_values[order[i]];
        most = std::max(most, std::min(1.0, scaled));
        adjusted[order[i]] = most;
    }
    return adjusted;
}

std::vector<double> hochberg(std::span<const double> p_values) {
    return step_up(p_values, [m = p_values.size()](std::size_t rank) {
        return static_cast<double>(m - rank + 1);
    });
}

std::vector<double> benjamini_hochberg(std::span<const double> p_values) {
    return step_up(p_values, [m = p_values.size()](std::size_t rank) {
        return static_cast<double>(m) / static_cast<double>(rank);
    });
}

} // namespace dropledger::statistics
