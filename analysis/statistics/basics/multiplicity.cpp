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

} // namespace dropledger::statistics
