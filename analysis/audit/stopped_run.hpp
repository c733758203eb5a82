// A run that stopped itself: the rule that its log states, replayed on the ledger, and what that
// does to the intervals.
//
// How: where a criterion's own decision ended the run, its interval orders the outcomes by where
// they stop (statistics/sequential_curve.hpp). Where the run went on because another criterion or
// channel was still open, its length was set by those, and the plain interval of all drops stands;
// analysis/verdict/README.md has the measured coverage of both.
// Undefined when: the log states no rule; then nothing changes.
#pragma once

#include "analysis/audit/model.hpp"

#include <string>
#include <vector>

namespace dropledger::audit {

// Fills `sequential` of every channel from its paths; notes what cannot be.
void replay_stop(AuditReport& report);

// A criterion's estimate with its interval no narrower than the stop allows.
[[nodiscard]] std::optional<statistics::Estimate>
after_stop(const std::optional<statistics::Estimate>& estimate,
           const std::optional<SequentialResult>& result);

} // namespace dropledger::audit
