// The share of misses or multiples after a run that could stop itself, with an interval that allows
// for it.
//
// How: where a test's own decision was the run's last, or the run reached its maximum, the interval
// orders the outcomes by where they stop. Where the run went on for another criterion or channel,
// or to the least number of drops, those set its length, and the plain interval of all drops is
// taken. Assumes: independent entries; what the plain interval is widened by otherwise is the
// caller's. Source: analysis/verdict/README.md has the measured coverage of both.
#pragma once

#include "analysis/measures/sequential_path.hpp"
#include "analysis/statistics/estimate.hpp"

#include <optional>
#include <vector>

namespace dropledger::verdict {

// Of all tests of a run, in the order given: whether its own decision (or the maximum) ended the
// run. `least` drops are asked of a run that is good throughout.
[[nodiscard]] std::vector<bool>
ended_the_run(const std::vector<const measures::SequentialPath*>& tests, std::int64_t least);

// Nothing for a run without drops.
[[nodiscard]] std::optional<statistics::Estimate>
stopped_share(const measures::SequentialPath& path, bool ended_run, Confidence confidence);

} // namespace dropledger::verdict
