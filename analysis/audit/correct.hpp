// Observed quantities beside what they are with the judging gate's own misses taken out.
//
// Assumes: the channel's measures and its sequential tests are there already.
// Undefined when: a quantity cannot be corrected: it is left out, and a note says why.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/audit/options.hpp"
#include "analysis/measures/corrections/portion_correction.hpp"

namespace dropledger::audit {

// Fills `sensor` of the channel.
void correct_for_sensor(const AuditReport& report, const GateCalibration& calibration,
                        ChannelReport& channel);

// Seeds that one portion should hold, where all have the same target.
[[nodiscard]] std::optional<std::size_t> common_target(const AuditReport& report,
                                                       const Portions& portions);
[[nodiscard]] measures::ObservedShares observed_shares(const SingleDrops& single);
[[nodiscard]] measures::ObservedPortions observed_portions(const Portions& portions,
                                                           std::size_t target);

} // namespace dropledger::audit
