#include "analysis/statistics/shares/comparison.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

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

HypergeometricLaw hits_of_first(Group a, Group b) {
    return {.lot = a.n + b.n, .nonconforming = a.x + b.x, .sample = a.n};
}

std::int64_t likeliest_hits(HypergeometricLaw law) {
    return (law.sample + 1) * (law.nonconforming + 1) / (law.lot + 2);
}

// From the likeliest on, where masses fall: the least k that is no likelier than `bar`.
std::int64_t least_unlikely(HypergeometricLaw law, double bar) {
    std::int64_t likely = likeliest_hits(law) - 1; // or as likely as the next
    std::int64_t unlikely = std::min(law.sample, law.nonconforming) + 1;
    while (unlikely - likely > 1) {
        const std::int64_t middle = likely + (unlikely - likely) / 2;
        (hypergeometric_pmf(middle, law) > bar ? likely : unlikely) = middle;
    }
    return unlikely;
}

} // namespace

std::optional<double> fisher_exact_p(Group a, Group b, double inflation) {
    check(a);
    check(b);
    a = shrunk(a, inflation);
    b = shrunk(b, inflation);
    if (a.n == 0 || b.n == 0)
        return std::nullopt;
    if (a.x > likeliest_hits(hits_of_first(a, b)))
        std::swap(a, b); // now the first has few hits
    const HypergeometricLaw law = hits_of_first(a, b);
    // Tables that are equally likely must stay so after rounding.
    const double bar = hypergeometric_pmf(a.x, law) * (1.0 + 1e-9);
    const std::int64_t many = least_unlikely(law, bar);
    return std::min(1.0, hypergeometric_cdf(a.x, law) + hypergeometric_sf(many - 1, law));
}

} // namespace dropledger::statistics
