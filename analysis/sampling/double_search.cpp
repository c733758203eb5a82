#include "analysis/sampling/double_search.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/stopping/fixed_plan.hpp"

#include <fmt/format.h>

#include <cmath>
#include <vector>

namespace dropledger::batch {

namespace {

using namespace dropledger::statistics;

constexpr std::int64_t most_single = 5'000;

// The two samples at one quality: chances of each count, binomial or out of a lot.
struct Quality {
    double p = 0.0;
    std::optional<std::int64_t> lot;
    std::int64_t nonconforming = 0;

    [[nodiscard]] double first(std::int64_t d, std::int64_t n1) const {
        return lot ? hypergeometric_pmf(d, {*lot, nonconforming, n1}) : binomial_pmf(d, {n1, p});
    }
    // At most k more in the second sample, after d in the first.
    [[nodiscard]] double second(std::int64_t k, std::int64_t d, const DoublePlan& plan) const {
        if (!lot)
            return binomial_cdf(k, {plan.n2, p});
        return hypergeometric_cdf(k, {*lot - plan.n1, nonconforming - d, plan.n2});
    }
};

struct Levels {
    Quality good;
    Quality bad;
};

Levels levels_of(const DoubleSearch& search) {
    Levels levels{{search.points.good, search.lot, 0}, {search.points.bad, search.lot, 0}};
    if (search.lot) {
        const double size = static_cast<double>(*search.lot);
        levels.good.nonconforming =
            static_cast<std::int64_t>(std::floor(search.points.good * size + 1e-9));
        levels.bad.nonconforming =
            static_cast<std::int64_t>(std::ceil(search.points.bad * size - 1e-9));
    }
    return levels;
}

DoublePoint point_at(const DoublePlan& plan, const Quality& quality) {
    return quality.lot ? double_point_of_lot(plan, *quality.lot, quality.nonconforming)
                       : double_point(plan, quality.p);
}

// Acceptance for one accept2 and every accept1 from 0 up, each from the last: raising accept1 by
// one accepts at once what the second sample might still have rejected.
class Acceptance {
public:
    Acceptance(const DoublePlan& plan, const Quality& quality) {
        for (std::int64_t d = 0; d < plan.reject1; ++d) {
            const double chance = quality.first(d, plan.n1);
            const double later = chance > 0.0 ? quality.second(plan.accept2 - d, d, plan) : 1.0;
            now_ += chance * later;
            gain_.push_back(chance * (1.0 - later));
        }
        raise(0);
    }
    [[nodiscard]] double now() const { return now_; }
    void raise(std::int64_t accept1) { now_ += gain_[static_cast<std::size_t>(accept1)]; }

private:
    double now_ = 0.0;
    std::vector<double> gain_;
};

// The plan with the least mean sample at the good level.
struct Best {
    std::optional<DoublePlan> plan;
    double mean = 0.0;

    void offer(const DoublePlan& candidate, const Quality& good) {
        const double needed = point_at(candidate, good).mean_sample;
        if (plan && needed >= mean)
            return;
        plan = candidate;
        mean = needed;
    }
};

// Every accept1 that still keeps the consumer's risk; false where not even accept1 = 0 does.
bool try_first_numbers(DoublePlan plan, const DoubleSearch& search, const Levels& levels,
                       Best& best) {
    Acceptance bad(plan, levels.bad);
    if (bad.now() > search.points.beta)
        return false;
    Acceptance good(plan, levels.good);
    while (bad.now() <= search.points.beta) {
        if (good.now() >= 1.0 - search.points.alpha)
            best.offer(plan, levels.good);
        if (++plan.accept1 + 1 >= plan.reject1)
            break;
        bad.raise(plan.accept1);
        good.raise(plan.accept1);
    }
    return true;
}

// Every count from which the first sample rejects by itself; a greater one only lets more bad lots
// pass. False where not even the least keeps the consumer's risk.
bool try_rejections(DoublePlan sizes, const DoubleSearch& search, const Levels& levels,
                    Best& best) {
    constexpr std::int64_t least = 2; // below there is no second sample
    for (sizes.reject1 = least; sizes.reject1 <= sizes.accept2 + 1; ++sizes.reject1)
        if (!try_first_numbers(sizes, search, levels, best))
            return sizes.reject1 > least;
    return true;
}

// Among the plans of one first sample; raising accept2 only lets more bad lots pass.
std::optional<DoublePlan> best_of(DoublePlan sizes, const DoubleSearch& search,
                                  const Levels& levels) {
    Best best;
    for (; sizes.accept2 < sizes.n1; ++sizes.accept2)
        if (!try_rejections(sizes, search, levels, best))
            break;
    return best.plan;
}

Error none(std::string what, std::string remedy) {
    return usage_error("plan double", std::move(what), std::move(remedy));
}

Result<std::int64_t> single_size(const DoubleSearch& search) {
    if (search.ratio < 1 || search.ratio > 10)
        return none(fmt::format("a second sample of {} times the first", search.ratio),
                    "take a whole multiple, 1 or 2");
    const auto single =
        search.lot ? fixed_plan_of_lot(search.points, *search.lot) : fixed_plan(search.points);
    if (!single)
        return single.error();
    if (single->n > most_single)
        return none(fmt::format("a single sample would already need {} units", single->n),
                    "take levels further apart, or larger risks");
    return single->n;
}

} // namespace

Result<FoundDoublePlan> smallest_double_plan(const DoubleSearch& search) {
    const auto single = single_size(search);
    if (!single)
        return single.error();
    const Levels levels = levels_of(search);
    for (std::int64_t n1 = 1; n1 <= 2 * *single; ++n1) {
        const std::int64_t n2 = search.ratio * n1;
        if (search.lot && n1 + n2 > *search.lot)
            break;
        const auto plan =
            best_of({.n1 = n1, .accept1 = 0, .reject1 = 2, .n2 = n2, .accept2 = 1}, search, levels);
        if (plan)
            return FoundDoublePlan{.plan = *plan,
                                   .at_good = point_at(*plan, levels.good),
                                   .at_bad = point_at(*plan, levels.bad)};
    }
    return none(fmt::format("no double plan with n2 = {} n1 keeps both risks", search.ratio),
                "take the single plan of `plan fixed`, or another ratio");
}

} // namespace dropledger::batch
