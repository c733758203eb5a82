// Two runs of the same units in words: what has changed, and only what both runs can show.
//
// Text is ASCII, except what comes out of a log.
#pragma once

#include "analysis/audit/model/before_after.hpp"

#include <string>
#include <vector>

namespace dropledger::report {

// One quantity of one unit, a line of every output.
struct ChangeRow {
    std::string what;   // "miss share"
    std::string before; // "4.2 % (3.1 to 5.6 %)"
    std::string after;
    std::string difference; // "-3.1 (-5.0 to -1.2) points"; empty where there is none
    std::string words; // "lower by 1.2 to 5.0 points", "no difference that these runs can show"
    bool differs = false;
};
[[nodiscard]] std::vector<ChangeRow> change_rows(const audit::ComparedUnit& unit);

// "lead 18 ms, as before", "gate1_fall_us: 45000, and was 50000"
[[nodiscard]] std::vector<std::string> setting_sentences(const audit::ComparedUnit& unit);
// What was found of the unit, in one line: the differences, or that there is none to be shown.
[[nodiscard]] std::string change_headline(const audit::ComparedUnit& unit);
[[nodiscard]] std::string unit_heading(const audit::ComparedUnit& unit); // "U-0204, row 4"
// "outside before, within after"
[[nodiscard]] std::string outcome_change(const audit::ComparedUnit& unit);
// Those that differ first, then those that cannot be compared, then the others.
[[nodiscard]] std::vector<const audit::ComparedUnit*>
differing_first(const audit::BeforeAfter& compared);
// "Before: monday.droplog, 2 March 2026 08:00", and the other one; how the intervals hold.
[[nodiscard]] std::vector<std::string> runs_compared(const audit::BeforeAfter& compared);
[[nodiscard]] std::string how_compared(const audit::BeforeAfter& compared);
// What is to be kept in mind: units of one run only, and what else was another.
[[nodiscard]] std::vector<std::string> change_cautions(const audit::BeforeAfter& compared);

} // namespace dropledger::report
