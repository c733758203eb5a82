// A run that stopped itself: the rule that its log states, replayed on the ledger, and what that
// does to the intervals.
//
// How: the share's interval holds whenever the run ends (verdict/stopped_share.hpp), and that of
// the index that the profile limits is made no narrower; analysis/verdict/README.md has the
// measured coverage.
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
