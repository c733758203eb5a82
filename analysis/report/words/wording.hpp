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
// How many more drops would decide it, no finer than the `counted` drops so far let it be known:
// "about 300 more drops (4 minutes at this speed)", "some thousands of drops more"; empty where more do
// not help, or where how many can't be told: more than ten times what was counted.
// The number allows for what the drops so far leave open (statistics/shares/more_needed), so chance moves
// it far: of 60 drops of one unit, near its limit, to 80 or to 15,000 (tests/analysis/report/wording_test).
// To the drop it is said only where the profile asks for so many.
[[nodiscard]] std::string more_drops_words(const audit::AuditReport& report,
                                           const verdict::Criterion& criterion,
                                           std::int64_t counted);
// "about 300 more drops would decide it in nine of ten such runs", that the profile asks for so many, or
// that it may take far more than the drops so far; empty where more do not help.
[[nodiscard]] std::string deciding_words(const audit::AuditReport& report,
                                         const verdict::Criterion& criterion, std::int64_t counted);
[[nodiscard]] bool can_tell_how_many(const audit::AuditReport& report,
                                     const verdict::Criterion& criterion, std::int64_t counted);

} // namespace dropledger::report
