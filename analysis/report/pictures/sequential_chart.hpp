// The path of the test that a run could stop by: hits against drops, with the limit, or the two
// lines of Wald's test.
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
