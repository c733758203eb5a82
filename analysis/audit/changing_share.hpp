// Verdicts that hold for a run's mean, where the run itself shows that it has no one mean.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

namespace dropledger::audit {

// A share that rises or falls along the run beyond chance is within only where its worse part is, by
// its own interval: the next run begins where this one ends.
// `efficiency`: of the gate, where the criterion was judged with the seeds that it overlooks put
// back; else 1.
void withhold_what_changes(const ChannelReport& channel, Confidence confidence, double efficiency,
                           verdict::Criterion& criterion);

// Where the gate's pulses grow shallower, misses are outside only where those of the first quarter,
// before it lost much, are: later seeds may have been overlooked, and no other gate tells.
void withhold_what_a_dim_gate_misses(const ChannelReport& channel, Confidence confidence,
                                     verdict::Criterion& criterion);

} // namespace dropledger::audit
