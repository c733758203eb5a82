// Numbers in words, the same in every report and note.
//
// Numbers carry the digits their uncertainty supports (two significant digits of half the
// interval), a dot as decimal mark, and their unit. Text is ASCII.
#pragma once

#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::measures {

enum class Unit { percent, millimetres, per_metre, ratio };

}

namespace dropledger {

using measures::Unit;

constexpr int most_number_decimals = 4;

// In the unit of display: a share of 0.05 is 5 (per cent).
[[nodiscard]] double displayed(double value, Unit unit);
[[nodiscard]] std::string_view symbol_of(Unit unit); // "%", "mm", "/m", ""
[[nodiscard]] int decimals_of(const statistics::Estimate& estimate, Unit unit);
[[nodiscard]] std::string number(double value, Unit unit, int decimals); // without symbol
[[nodiscard]] std::string with_unit(double value, Unit unit, int decimals);

[[nodiscard]] std::string value_words(const statistics::Estimate& estimate, Unit unit);
// "3.1 to 5.6 %"; empty without an interval.
[[nodiscard]] std::string interval_words(const statistics::Estimate& estimate, Unit unit,
                                         int decimals);
[[nodiscard]] std::string interval_words(const statistics::Estimate& estimate, Unit unit);
[[nodiscard]] std::string percent_words(double share);          // a confidence level: "95 %"
[[nodiscard]] std::string length_words(std::int64_t length_um); // "180 mm", "4.25 m"
[[nodiscard]] std::string grouped(std::int64_t count);          // "12,345"
[[nodiscard]] std::string grouped(double value, int decimals);  // "12,345.6"
// "1 line", "2 lines"; the plural adds an s.
[[nodiscard]] std::string counted(std::uint64_t count, std::string_view thing);
[[nodiscard]] std::string p_words(double p); // "0.031", "below 0.0001"
// Without trailing zeros: "0.5", "12".
[[nodiscard]] std::string trimmed_number(double value);

} // namespace dropledger
