// A run that stopped itself: the rule that its log states, replayed on the ledger, and what that
// does to the intervals.
//
// How: the share's interval holds whenever the run ends (verdict/stopped_share.hpp), and that of
// the index that the profile limits is made no narrower; analysis/verdict/README.md has the
// measured coverage.
// Undefined when: the log states no rule; then nothing changes.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

namespace dropledger::audit {

// Of a channel whose log states a rule: indices and shares per spacing that hold whenever the run
// ends. The ISO index keeps its upper limit until `replay_stop` joins that of the ledger's share,
// which is no smaller: so what the run called good stays inside.
void allow_for_stop(const measures::SpacingTally& tally, const verdict::StoppingRule& rule,
                    Confidence confidence, measures::SpacingResult& spacing);

// Fills the tests of every channel from its paths, and makes its shares and indices no narrower
// than the stop allows.
void replay_stop(AuditReport& report);

// What the run called good by its own test, and stopped for, is within by the same interval, where
// the index itself lies inside the limit: its interval of one fixed run may be the wider one.
void keep_what_the_run_found(const AuditReport& report, const ChannelReport& channel,
                             verdict::Criterion& criterion);

} // namespace dropledger::audit
