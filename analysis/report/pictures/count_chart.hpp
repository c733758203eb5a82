// How often 0, 1, 2, … seeds were counted: portions against their target, segments of a line
// against Poisson.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::report::pictures {

struct CountChart {
    std::vector<std::int64_t> counts; // of drops or segments with 0, 1, 2, … seeds
    std::string x_title;
    std::optional<std::uint32_t> target; // marked
    std::optional<double> poisson_mean;  // expected counts of a random line are drawn beside
};

[[nodiscard]] std::string count_chart(const CountChart& chart);

} // namespace dropledger::report::pictures
