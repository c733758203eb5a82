// Findings with the judging gate's own misses taken out, for the verdict.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <optional>

namespace dropledger::audit {

// Nothing where the limit's quantity cannot be corrected.
[[nodiscard]] std::optional<verdict::Finding> corrected_finding(const verdict::Limit& limit,
                                                                const AuditReport& report,
                                                                const ChannelReport& channel);

// Where the efficiency's own uncertainty leaves a criterion undecided, says so and what would help.
void explain_undecided(const ChannelReport& channel, verdict::Criterion& criterion);

} // namespace dropledger::audit
