// The share of misses or multiples after a run that could stop itself, with an interval that allows
// for it.
//
// How: the interval holds whenever the run ends (statistics/monitored_share.hpp), so it makes no
// difference what ended it. Where the test by a limit decided, it is that of the drops up to the
// decision: the one by which the run was called good or bad. Else it is that of all drops. Where an
// older log's rule, Wald's, ended the run by its own decision, it is no narrower than the interval
// that orders the outcomes by where they stop.
// Source: analysis/verdict/README.md has the measured coverage.
#pragma once

#include "analysis/measures/sequential_path.hpp"
#include "analysis/statistics/basics/estimate.hpp"

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
