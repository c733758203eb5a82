// Contradictions that show in a channel's drops: an order that was not carried out, pulses that no
// drop explains, a gate that fell silent, two channels with the same pulses.
//
// Thresholds are our own choice; where a count could be chance, its one-sided 97.5 % limit counts.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>

namespace dropledger::audit {

constexpr std::int64_t long_silence = 50; // drops

[[nodiscard]] std::string unit_name(const ChannelReport& channel);

void add_doubtful_drops(const ChannelReport& channel, AuditReport& report);
// Seeds too many that come when another channel's do.
void add_overheard(AuditReport& report);
void add_alike(AuditReport& report);
// A list whose spacings are alike and hardly any of them near the theoretical one: another unit, or
// another spacing.
void add_other_list(const measures::SpacingResult& spacing, AuditReport& report);

} // namespace dropledger::audit
