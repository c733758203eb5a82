// Sums over u_j = first + j·step for long stretches of j, in a time that does not grow with them.
//
// Assumes: first >= 0, step >= 0, 0 <= from <= to. Term by term up to j = 64; beyond, Euler and
// Maclaurin's formula to the fifth derivative, whose first neglected term is below 2e-16 of a term.
// Undefined when: first and step are both 0: the sums are infinite, as their terms are.
// Source: NIST Digital Library of Mathematical Functions, 2.10.1 (from memory; tested against plain
// sums).
#pragma once

#include <cstdint>

namespace dropledger::statistics {

struct Progression {
    double first = 0.0;
    double step = 0.0;
};

// j = from, …, to - 1
struct Stretch {
    std::int64_t from = 0;
    std::int64_t to = 0;
};

[[nodiscard]] double sum_of_logs(Progression u, Stretch over);     // ln u_j
[[nodiscard]] double sum_of_inverses(Progression u, Stretch over); // 1 / u_j
[[nodiscard]] double sum_of_ratios(Progression u, Stretch over);   // j / u_j

} // namespace dropledger::statistics
