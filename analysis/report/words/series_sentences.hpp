// What several runs of one unit say together, in sentences.
#pragma once

#include "analysis/audit/series.hpp"

#include <string>
#include <vector>

namespace dropledger::report {

// One sentence per cause, or that there is none.
[[nodiscard]] std::vector<std::string> series_sentences(const audit::UnitSeries& series);

} // namespace dropledger::report
