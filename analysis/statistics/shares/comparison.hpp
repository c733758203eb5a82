// Is one group's share unlike another's?
//
// Assumes: entries independent within and between groups; where they are not, pass the measured
// variance inflation, which shrinks the counts. p-values are two-sided and not yet adjusted for
// several comparisons (multiplicity.hpp).
// Undefined when: a group is empty: std::nullopt.
// Source: Fisher 1935, two-sided by the sum of the tables no likelier than the one seen.
#pragma once

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct Group {
    std::int64_t x = 0; // entries of the kind asked for
    std::int64_t n = 0; // all entries
};

// `inflation`: the measured variance inflation, by which both groups are shrunk; below 1 it is 1.
[[nodiscard]] std::optional<double> fisher_exact_p(Group a, Group b, double inflation = 1.0);

} // namespace dropledger::statistics
