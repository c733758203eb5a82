// What a report says beside its numbers: what was assumed, what was left out, what is doubtful.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/audit/options.hpp"

namespace dropledger::audit {

struct Judging {
    const ledger::ChannelOutcome* outcome;
    const ledger::GateLedger* judge;
    const GateCalibration* calibration; // none where there is none for this gate
};

// Assumptions about the channel's gates, pulses that could not be placed, and what its spacings
// leave undefined.
// Assumes: the channel's results are there already.
void add_channel_notes(const ledger::RunSetup& setup, const Judging& judging,
                       ChannelReport& channel);
// Where misses or multiples do not come independently; where a line began late or ended early.
void add_sequence_notes(ChannelReport& channel);
// Integrity, boots and faults of the run as a whole.
void add_run_notes(AuditReport& report);

} // namespace dropledger::audit
