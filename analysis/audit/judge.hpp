// From a channel's measures to its verdict: which number answers which limit of the profile.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>

namespace dropledger::audit {

// Judges the channel by every limit of the report's profile that its input can answer; what it
// cannot answer stands in the channel's notes.
void judge_channel(const AuditReport& report, ChannelReport& channel);

} // namespace dropledger::audit
