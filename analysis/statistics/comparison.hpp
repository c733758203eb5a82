// Is one group unlike another? For shares and for means.
//
// Assumes: entries independent within and between groups; where they are not, pass the measured
// variance inflation, which shrinks the counts. p-values are two-sided and not yet adjusted for
// several comparisons (multiplicity.hpp). Undefined when: a group or the rest of them is empty
// (shares), has fewer than two values or no spread at all (means): std::nullopt. Source: Fisher
// 1935, two-sided by the sum of the tables no likelier than the one seen; Welch 1947.
#pragma once

#include "analysis/statistics/moments.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct Group {
    std::int64_t x = 0; // entries of the kind asked for
    std::int64_t n = 0; // all entries
};

// `inflation`: the measured variance inflation, by which both groups are shrunk; below 1 it is 1.
[[nodiscard]] std::optional<double> fisher_exact_p(Group a, Group b, double inflation = 1.0);

struct Welch {
    double t = 0.0;
    double degrees = 0.0;
    double p = 1.0;
};
[[nodiscard]] std::optional<Welch> welch_test(const Moments& a, const Moments& b);

} // namespace dropledger::statistics
