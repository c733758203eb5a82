// Out-of-control rules: which stretches of a standardised sequence chance hardly makes.
//
// Assumes: z = (value - centre)/sigma, in order of time; independent and normal in a process in
// control. Taken together the rules on zones call a false alarm about once in 92 values, the first
// alone once in 370 (the handbook's figure, from memory): a signal is a reason to look, no proof.
// Edges: a value exactly on a line is not beyond it; one on the centre is on neither side; equal
// neighbours end a trend and an alternation.
// Source: NIST/SEMATECH e-Handbook 6.3.2 (Western Electric rules and the two trend rules; memory).
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::statistics {

enum class ControlRule {
    beyond_three_sigma, // one value
    two_of_three,       // beyond 2 sigma on one side
    four_of_five,       // beyond 1 sigma on one side
    eight_on_one_side,
    six_in_a_trend, // six values in a row, each above (or each below) the one before
    fourteen_alternating,
    wide_moving_range, // two neighbours further apart than the limit of the moving range
};

// A short name for tables and JSON: "beyond 3 sigma", "2 of 3 beyond 2 sigma", ….
[[nodiscard]] std::string_view rule_name(ControlRule rule);

// Overlapping finds of one rule on one side are one signal.
struct ControlSignal {
    ControlRule rule = ControlRule::beyond_three_sigma;
    std::size_t first = 0; // index from 0
    std::size_t last = 0;
    std::string sentence; // counts values from 1, as a person does
};

// In order of their first value, then of the rules above. Never finds wide_moving_range: that needs
// the ranges.
// `before`: so many values stand before these, for the numbers in the sentences; indices count from
// the first of `z`.
[[nodiscard]] std::vector<ControlSignal> control_signals(std::span<const double> z,
                                                         std::size_t before = 0);

} // namespace dropledger::statistics
