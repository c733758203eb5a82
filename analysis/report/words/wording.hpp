// Limits, findings and advice in words, as the terminal report and the page share them. Text is
// ASCII.
#pragma once

#include "analysis/audit/model/audit_report.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/report/words/quantities.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::report {

// What "definitions, section 5" cites.
inline constexpr std::string_view where_sections_are =
    "Sections are those of \"What is measured, and how\": analysis/DEFINITIONS.md, which comes "
    "with "
    "the program.";

// The digits that keep an end of the interval from looking like the limit it misses.
[[nodiscard]] int decimals_against(const statistics::Estimate& estimate, double limit, Unit unit);
[[nodiscard]] std::string limit_words(const verdict::Limit& limit); // "at most 5 %"
// "4.2 %, 95 % interval 3.1 to 5.6 %", with as many digits as it takes to tell the interval from
// the limit.
[[nodiscard]] std::string found_words(const verdict::Criterion& criterion);
// At this speed and spacing; nothing where they are not known or more drops do not help.
[[nodiscard]] std::optional<double> more_minutes(const audit::AuditReport& report,
                                                 const verdict::Criterion& criterion);
// "about 310 more drops (4 minutes at this speed)"; empty where more do not help.
[[nodiscard]] std::string more_drops_words(const audit::AuditReport& report,
                                           const verdict::Criterion& criterion);

} // namespace dropledger::report
