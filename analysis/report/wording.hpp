// Numbers in words, as the terminal report and the page share them.
//
// Numbers carry the digits their uncertainty supports (two significant digits of half the
// interval), a dot as decimal mark, and their unit. Text is ASCII.
#pragma once

#include "analysis/report/audit.hpp"
#include "analysis/report/quantities.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::report {

// In the unit of display: a share of 0.05 is 5 (per cent).
[[nodiscard]] double displayed(double value, Unit unit);
[[nodiscard]] std::string_view symbol_of(Unit unit); // "%", "mm", "/m", ""
[[nodiscard]] int decimals_of(const statistics::Estimate& estimate, Unit unit);
[[nodiscard]] std::string number(double value, Unit unit, int decimals); // without symbol
[[nodiscard]] std::string with_unit(double value, Unit unit, int decimals);

[[nodiscard]] std::string value_words(const statistics::Estimate& estimate, Unit unit);
// "3.1 to 5.6 %"; empty without an interval.
[[nodiscard]] std::string interval_words(const statistics::Estimate& estimate, Unit unit);
[[nodiscard]] std::string percent_words(double share);          // a confidence level: "95 %"
[[nodiscard]] std::string length_words(std::int64_t length_um); // "180 mm", "4.25 m"
[[nodiscard]] std::string grouped(std::int64_t count);          // "12,345"
// "1 line", "2 lines"; the plural adds an s.
[[nodiscard]] std::string counted(std::uint64_t count, std::string_view thing);
[[nodiscard]] std::string p_words(double p); // "0.031", "below 0.0001"

[[nodiscard]] std::string limit_words(const verdict::Limit& limit); // "at most 5 %"
// "4.2 %, 95 % interval 3.1 to 5.6 %", with as many digits as it takes to tell the interval from
// the limit.
[[nodiscard]] std::string found_words(const verdict::Criterion& criterion);
// At this speed and spacing; nothing where they are not known or more drops do not help.
[[nodiscard]] std::optional<double> more_minutes(const AuditReport& report,
                                                 const verdict::Criterion& criterion);
// "about 310 more drops (4 minutes at this speed)"; empty where more do not help.
[[nodiscard]] std::string more_drops_words(const AuditReport& report,
                                           const verdict::Criterion& criterion);

} // namespace dropledger::report
