// What a log may be hiding, and what an interval would be at best if it were.
//
// Assumes: a missing line could have been a pulse, and spoken for the unit.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/verdict/judgement.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace dropledger::audit {

struct Doubt {
    std::int64_t missing_lines = 0; // any of them could have been a pulse
    bool gate_blocked = false;      // the judging gate reported that it was dark

    [[nodiscard]] bool any() const { return gate_blocked || missing_lines > 0; }
};

[[nodiscard]] Doubt doubt_about(const AuditReport& report, const ChannelReport& channel);
// What the controller reported of the unit's own parts or of their supply, in words: then a run that
// looks well does not speak for the unit.
[[nodiscard]] std::optional<std::string> fault_of_unit(const AuditReport& report,
                                                       const ChannelReport& channel);
[[nodiscard]] std::int64_t spared_misses(const Doubt& doubt, std::int64_t misses);

// The run's state as the verdict needs it: complete or not, and why.
[[nodiscard]] verdict::RunState run_state(const AuditReport& report, const ChannelReport& channel);

// The interval of cv, dispersion_index or rate_error. Undefined when: the line has no dispersion.
[[nodiscard]] std::optional<statistics::Interval> line_at_best(const verdict::Limit& limit,
                                                               const measures::LineResult& line,
                                                               const statistics::Interval& interval,
                                                               const Doubt& doubt);

} // namespace dropledger::audit
