// From a channel's measures to its verdict: which number answers which limit of the profile.
#pragma once

#include "analysis/audit/model.hpp"

#include <string>

namespace dropledger::audit {

// Of places on the ground, which a list of spacings does not have.
[[nodiscard]] bool is_placement(measures::Quantity quantity);

// The run's state as the verdict needs it: complete or not, and why.
[[nodiscard]] verdict::RunState run_state(const AuditReport& report, const ChannelReport& channel);

// Judges the channel by every limit of the report's profile that its input can answer; what it
// cannot answer stands in the channel's notes.
void judge_channel(const AuditReport& report, ChannelReport& channel);

} // namespace dropledger::audit
