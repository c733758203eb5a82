#include "analysis/statistics/stopping/fixed_plan.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

namespace {

constexpr std::int64_t most_entries = 1'000'000;

// Smallest n from low to high for which `true_from` holds on; high + 1 where it never does. Looks
// near `low` first, with steps that double.
template <class Condition>
std::int64_t first_where(std::int64_t low, std::int64_t high, const Condition& true_from) {
    std::int64_t step = 1;
    while (low <= high && !true_from(std::min(high, low + step))) {
        low += step + 1;
        step *= 2;
    }
    std::int64_t none = std::min(high + 1, low + step); // true there, if within high
    while (low < none) {
        const std::int64_t middle = low + (none - low) / 2;
        if (true_from(middle))
            none = middle;
        else
            low = middle + 1;
    }
    return none;
}

// Normal approximation of the size; far beyond the cap there is no use in searching.
bool hopeless(TwoPoint points) {
    const double spread_good = std::sqrt(points.good * (1.0 - points.good));
    const double spread_bad = std::sqrt(points.bad * (1.0 - points.bad));
    const double root = (normal_quantile(1.0 - points.alpha) * spread_good +
                         normal_quantile(1.0 - points.beta) * spread_bad) /
                        (points.bad - points.good);
    return root > 0.0 && root * root > 2.0 * static_cast<double>(most_entries);
}

// For each acceptance number c the consumer's risk asks for at least some n, and the producer's
// allows at most some other; both grow with c, so the first c whose two limits meet gives the
// smallest n of all.
template <class Accepts>
FixedPlan smallest(TwoPoint points, std::int64_t most, const Accepts& accepts) {
    std::int64_t n = 1;
    for (std::int64_t c = 0; c < most; ++c) {
        const auto protects = [&](std::int64_t size) {
            return accepts({size, c}, false) <= points.beta;
        };
        n = first_where(n, most, protects);
        if (n > most)
            break;
        if (accepts({n, c}, true) >= 1.0 - points.alpha)
            return {.n = n, .accept = c};
    }
    return {};
}

} // namespace

Result<FixedPlan> fixed_plan(TwoPoint points) {
    const auto sound = checked(points);
    if (!sound)
        return sound.error();
    const auto accepts = [&](FixedPlan trial, bool at_good) {
        return accept_probability(trial, at_good ? points.good : points.bad);
    };
    const FixedPlan plan = hopeless(points) ? FixedPlan{} : smallest(points, most_entries, accepts);
    if (plan.n == 0)
        return usage_error("plan fixed",
                           fmt::format("more than {} entries would be needed", most_entries),
                           "take levels further apart, or larger risks");
    return plan;
}

Result<FixedPlan> fixed_plan_of_lot(TwoPoint points, std::int64_t lot) {
    const auto sound = checked(points);
    if (!sound)
        return sound.error();
    if (lot < 1 || lot > most_entries)
        return usage_error("plan", fmt::format("a lot of {} units", lot),
                           "give a lot of at least one unit");
    // A product that should be whole may fall short of it by its rounding.
    const double size = static_cast<double>(lot);
    const auto good = static_cast<std::int64_t>(std::floor(points.good * size + 1e-9));
    const auto bad = static_cast<std::int64_t>(std::ceil(points.bad * size - 1e-9));
    const FixedPlan plan = smallest(points, lot, [&](FixedPlan trial, bool at_good) {
        return accept_probability(trial, LotContent{lot, at_good ? good : bad});
    });
    if (plan.n == 0)
        throw BrokenInvariant("fixed plan: not even the whole lot tells the levels apart");
    return plan;
}

double accept_probability(FixedPlan plan, double p) {
    return binomial_cdf(plan.accept, {.n = plan.n, .p = p});
}

double accept_probability(FixedPlan plan, LotContent lot) {
    return hypergeometric_cdf(
        plan.accept, {.lot = lot.lot, .nonconforming = lot.nonconforming, .sample = plan.n});
}

} // namespace dropledger::statistics
