#include "analysis/statistics/shares/comparison.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::statistics {

namespace {

void check(Group group) {
    if (group.x < 0 || group.x > group.n)
        throw BrokenInvariant("comparison: more of the kind than entries");
}

Group shrunk(Group group, double inflation) {
    if (!(inflation > 1.0))
        return group;
    const auto effective = [&](std::int64_t count) {
        return static_cast<std::int64_t>(std::llround(static_cast<double>(count) / inflation));
    };
    const Group smaller{.x = effective(group.x), .n = effective(group.n)};
    return {.x = std::min(smaller.x, smaller.n), .n = smaller.n};
}

} // namespace

std::optional<double> fisher_exact_p(Group a, Group b, double inflation) {
    check(a);
    check(b);
    a = shrunk(a, inflation);
    b = shrunk(b, inflation);
    if (a.n == 0 || b.n == 0)
        return std::nullopt;
    const HypergeometricLaw law{.lot = a.n + b.n, .nonconforming = a.x + b.x, .sample = a.n};
    const std::int64_t least = std::max<std::int64_t>(0, law.sample + law.nonconforming - law.lot);
    const std::int64_t most = std::min(law.sample, law.nonconforming);
    // Tables that are equally likely must stay so after rounding.
    const double bar = hypergeometric_pmf(a.x, law) * (1.0 + 1e-9);
    double p = 0.0;
    for (std::int64_t k = least; k <= most; ++k) {
        const double mass = hypergeometric_pmf(k, law);
        p += mass <= bar ? mass : 0.0;
    }
    return std::min(1.0, p);
}

} // namespace dropledger::statistics
