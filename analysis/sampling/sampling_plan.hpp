// Single sampling of a lot by attributes: lot size, level, AQL and severity to sample size and
// numbers.
//
// Assumes: AQL in percent nonconforming, 0.010 to 10 (above it counts nonconformities, another
// matter). From 0.10 to 6.5 the files' cells; elsewhere computed by the rule that all of them follow
// (diagonal_rule.hpp), and marked so.
// Undefined when: the lot is smaller than two units, or the AQL is not one of the table's: usage
// error.
// Source: MIL-STD-105E tables I and II-A to II-C, which ISO 2859-1 shares for normal and tightened
// inspection; the reduced table is the older one with a gap between Ac and Re. Files:
// analysis/sampling/tables.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/base/result.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

enum class Severity : std::uint8_t { normal, tightened, reduced };

inline constexpr std::array severity_names{EnumName{Severity::normal, "normal"},
                                           EnumName{Severity::tightened, "tightened"},
                                           EnumName{Severity::reduced, "reduced"}};
static_assert(names_all<severity_names>());

[[nodiscard]] Result<Severity> parse_severity(std::string_view word);
[[nodiscard]] constexpr std::string_view word_of(Severity severity) {
    return row_in(severity_names, severity).key;
}

// AQLs of the tables' files, in percent, ascending; rule_aqls() has those that can be computed, too.
[[nodiscard]] const std::vector<double>& table_aqls();

struct LotRequest {
    std::int64_t lot = 0;
    std::string level = "II"; // I, II, III, S-1 … S-4
    double aql = 1.0;         // percent nonconforming
    Severity severity = Severity::normal;
};

struct AttributePlan {
    char letter = 'A';       // code letter of lot and level; arrows may lead to another sample size
    std::int64_t n = 0;      // never more than the lot
    std::int64_t accept = 0; // Ac
    std::int64_t reject = 1; // Re; more than Ac + 1 only under reduced inspection
    bool whole_lot = false;  // the table asks for at least the whole lot: inspect all
    bool computed = false;   // by the tables' rule: the cell itself is not at hand
};

[[nodiscard]] Result<char> code_letter(std::int64_t lot, std::string_view level);
[[nodiscard]] Result<AttributePlan> single_plan(const LotRequest& request);

enum class LotOutcome : std::uint8_t {
    accepted,
    accepted_ends_reduced, // between Ac and Re: accepted, and the next lot is inspected normally
    not_accepted,
};

inline constexpr std::array lot_outcome_names{
    EnumName{LotOutcome::accepted, "accepted"},
    EnumName{LotOutcome::accepted_ends_reduced, "accepted_ends_reduced"},
    EnumName{LotOutcome::not_accepted, "not_accepted"}};
static_assert(names_all<lot_outcome_names>());

[[nodiscard]] constexpr std::string_view word_of(LotOutcome outcome) {
    return row_in(lot_outcome_names, outcome).key;
}
[[nodiscard]] LotOutcome judge(const AttributePlan& plan, std::int64_t nonconforming);

} // namespace dropledger::batch
