// Observed quantities beside what they are with the judging gate's own misses taken out.
//
// Assumes: the channel's measures and its sequential tests are there already. Undefined when: a
// quantity cannot be corrected: it is left out, and a note says why.
#pragma once

#include "analysis/report/audit.hpp"

namespace dropledger::report {

// Fills `sensor` of the channel.
void correct_for_sensor(const AuditReport& report, const GateCalibration& calibration,
                        ChannelReport& channel);

// Seeds that one portion should hold, where all have the same target.
[[nodiscard]] std::optional<std::size_t> common_target(const AuditReport& report,
                                                       const ChannelReport& channel);
[[nodiscard]] measures::ObservedShares observed_shares(const ChannelReport& channel);
[[nodiscard]] measures::ObservedPortions observed_portions(const ChannelReport& channel,
                                                           std::size_t target);

// What a mechanic should know of it: what the gate overlooks, what that does to the numbers, and to
// the verdict. Empty without a calibration.
[[nodiscard]] std::vector<std::string> sensor_sentences(const ChannelReport& channel);

} // namespace dropledger::report
