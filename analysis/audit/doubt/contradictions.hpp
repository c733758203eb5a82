// Where the evidence contradicts itself: such a run is neither within nor outside, and the report
// says so first.
//
// Kinds: the log does not agree with itself (seals, signature, lines); the judging gate overlooks
// seeds that the channel's other gate saw; a calibration that its run contradicts; all units off by
// one same amount; a gate that saw seed and nobody says where it sits (not in line mode: there only
// distances count); travel that jumps; drops that were commanded otherwise than the log states; two
// channels with the same pulses; multiples that the other gate does not see, or that lie further
// apart than one drop's seeds can; a gate that falls silent for fifty drops and more where no other
// one tells whether seed fell. A gate is suspect where it overlooked more than `overlooked_allowed`
// of the seeds beyond chance (one-sided 97.5 %).
// Assumes: the two gates of a channel overlook seeds independently of each other; seeds that both
// overlook can't be seen.
// Undefined when: a channel has one gate, or the other saw nothing.
// Source: two observers, Chapman 1951 (statistics/capture_recapture.hpp); the thresholds are our
// own choice.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <vector>

namespace dropledger::audit {

constexpr double overlooked_allowed = 0.02;
// Two units that agree to a tenth of what they are off by are as unlikely by chance as three that
// agree to a quarter.
constexpr std::size_t least_units_alike = 2;
// From here on all but one are as telling as all: the one may have been set by hand.
constexpr std::size_t least_units_all_but_one = 4;

// Bits of one gate's drops, in their order: whether it saw seed.
using SeenDrops = std::vector<bool>;

struct GateEvidence {
    int gate = 0;
    std::int64_t seeds = 0;
    const SeenDrops* drops = nullptr;   // empty in line mode
    const SeenDrops* several = nullptr; // the same: whether it saw two seeds or more
};

[[nodiscard]] std::optional<GateComparison> compared_gates(const GateEvidence& judging,
                                                           const GateEvidence& other,
                                                           ledger::Mode mode,
                                                           Confidence confidence);

// Fills `contradictions` of the report; the channels' measures are there already.
void find_contradictions(AuditReport& report);

// Takes back what the channel's judgement says beyond the contradicted evidence.
void hold_back(const AuditReport& report, ChannelReport& channel);

} // namespace dropledger::audit
