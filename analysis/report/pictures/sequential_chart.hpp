// The path of a sequential test between its two lines: hits against drops.
//
// Undefined when: fewer than two drops: an empty string.
#pragma once

#include "analysis/measures/sequential_path.hpp"

#include <string>

namespace dropledger::report::pictures {

// `what` is counted: "misses".
[[nodiscard]] std::string sequential_chart(const measures::SequentialPath& path,
                                           const std::string& what);

} // namespace dropledger::report::pictures
