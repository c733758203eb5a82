// Values in order of time in their usual range (control limits) and tolerance, every signal marked by a letter and told in
// words.
//
// Every point carries its number, its name and its value; letters, symbols and strokes differ, so
// that nothing hangs on colour.
#pragma once

#include "analysis/statistics/trends/control_chart.hpp"

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::report::pictures {

struct ControlWords {
    std::string what;               // the axis: "misses of all units, %"
    std::string of_time;            // "batches in order of opening"
    double factor = 1.0;            // 100 shows shares in per cent
    std::vector<std::string> names; // one a point, or none
    std::vector<double> limits{};   // of the tolerance, in the values' own unit
    // Before which point a new level begins, and why
    std::vector<std::pair<std::size_t, std::string>> repairs{};
};

[[nodiscard]] std::string control_chart(const statistics::ControlChart& chart,
                                        const ControlWords& words);

// "A: …" one a signal, with the names of its first and last value; a single sentence where there
// is none. For text output and under the picture.
[[nodiscard]] std::vector<std::string> control_sentences(const statistics::ControlChart& chart,
                                                         const std::vector<std::string>& names);

} // namespace dropledger::report::pictures
