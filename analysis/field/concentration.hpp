// Where gaps begin more often than elsewhere: row, pass, ends of passes, hour.
//
// Assumes: gaps begin independently (their lengths, which bursts stretch, do not count). Each place
// against all others by the binomial law of its share of the drops behind which a gap could begin;
// Holm within each kind.
// Undefined when: only one place of a kind: nothing is compared.
#pragma once

#include "analysis/field/audit.hpp"

#include <vector>

namespace dropledger::field {

// Those with an adjusted p-value of at most 0.05, the most unlikely first.
[[nodiscard]] std::vector<Concentration> concentrations(const Field& field,
                                                        const std::vector<Gap>& gaps);

[[nodiscard]] std::vector<GapLength> gap_lengths(const std::vector<LineReport>& lines,
                                                 const std::vector<Gap>& gaps);

} // namespace dropledger::field
