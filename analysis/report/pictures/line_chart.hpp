// Seeds per metre along a line of seed, with its mean and its target.
//
// Undefined when: the line has fewer than two points: an empty string.
#pragma once

#include "analysis/measures/line.hpp"

#include <optional>
#include <string>

namespace dropledger::report::pictures {

[[nodiscard]] std::string line_chart(const measures::LineResult& line,
                                     std::optional<double> target_per_m);

} // namespace dropledger::report::pictures
