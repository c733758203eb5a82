// A unit in a mechanic's words: what was found, in one line; what is wrong; what to do next.
//
// Advice for more drops is given only where nothing speaks for a cause: neither the drops, nor what
// contradicts the evidence, nor a place that gate or lead may have been stated wrongly.
// Text is ASCII, except what comes out of a log.
// Undefined when: a unit is within: no cause and nothing to do, empty texts.
#pragma once

#include "analysis/audit/model/audit_report.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::report {

[[nodiscard]] std::string plain_name(measures::Quantity quantity); // "misses", "offset"

// "late" or "early" in the direction of travel; empty where the interval leaves open which.
[[nodiscard]] std::string_view late_or_early(const statistics::Estimate& place_mm, int direction);
// "14.0 mm late (13.2 to 14.8 mm)", "0.3 mm early (0.9 early to 0.2 mm late)".
[[nodiscard]] std::string place_words(const statistics::Estimate& place_mm, int direction,
                                      int decimals);

// "misses 9.2 % (7.0 to 11.8 %)".
[[nodiscard]] std::string plain_found(const audit::ChannelReport& channel,
                                      const verdict::Criterion& criterion);
// What decides the unit: its first limit that is not kept, with that limit; else the first one.
// Empty without limits.
[[nodiscard]] std::string deciding_words(const audit::ChannelReport& channel);

// "Empty container: nothing fell from drop 350 on, for the last 304 drops. Look at: ..."
[[nodiscard]] std::string cause_words(const causes::Cause& cause);

struct Advice {
    std::string cause; // a sentence without full stop
    std::string next;
};
[[nodiscard]] Advice advice(const audit::AuditReport& report, const audit::ChannelReport& channel);

[[nodiscard]] std::vector<const audit::ChannelReport*>
worst_first(const audit::AuditReport& report);

} // namespace dropledger::report
