// Notation: z of the boundary; a chance of a start; counts as in row_share.cpp.
#include "analysis/statistics/stopping/monitored_share.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/chain_law.hpp"
#include "analysis/statistics/shares/row_share.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dropledger::statistics {

namespace {

double density(double z) {
    return std::exp(-z * z / 2.0) / std::sqrt(2.0 * std::numbers::pi);
}

// P(|path| crosses z between the ends) of a standardised random walk.
double crossing_chance(double z, double log_ratio) {
    return density(z) * ((z - 1.0 / z) * log_ratio + 4.0 / z);
}

double boundary(double log_ratio, Confidence confidence) {
    double low = std::max(1.5, normal_quantile(1.0 - confidence.each_tail()));
    double high = 10.0;
    const double risk = 1.0 - confidence.level();
    if (crossing_chance(low, log_ratio) <= risk)
        return low;
    for (int halving = 0; halving < 60; ++halving) {
        const double middle = (low + high) / 2.0;
        (crossing_chance(middle, log_ratio) > risk ? low : high) = middle;
    }
    return high;
}

// The share of rows of ten that stay away from so many entries with the chance `tail`. A run
// without a hit is left once and for all, so looks in between cost no risk.
double unseen_share(std::int64_t entries, double tail) {
    const double start = -std::expm1(std::log(tail) / static_cast<double>(entries));
    const double odds = start * longest_mean_row;
    return odds / (1.0 + odds);
}

bool by_chain(const RowCounts& counts) {
    return counts.hits > 0 && 2 * counts.hits <= counts.entries;
}

Side upper_side(const RowCounts& counts) {
    return counts.isolated() ? Side::isolated : Side::upper;
}
Side lower_side(const RowCounts& counts) {
    return counts.isolated() ? Side::isolated : Side::lower;
}

ShareLaw law_of(const RowCounts& counts, Side side) {
    return share_law(chain_law(chain_counts(counts, 1.0), side));
}

bool is_inside(const RowCounts& counts, const LimitPlan& plan, Confidence each) {
    if (counts.hits == 0)
        return unseen_share(counts.entries, plan.confidence.each_tail()) <= plan.limit;
    if (by_chain(counts))
        return law_of(counts, upper_side(counts)).chance_at_most(plan.limit) >=
               1.0 - each.each_tail();
    return row_share(counts, 1.0, each)->interval->high <= plan.limit;
}

bool is_beyond(const RowCounts& counts, const LimitPlan& plan, Confidence each) {
    if (counts.events() < plan.least_events)
        return false;
    if (by_chain(counts))
        return counts.events() >= fewest_rows &&
               law_of(counts, lower_side(counts)).chance_at_most(plan.limit) <= each.each_tail();
    return row_share(counts, 1.0, each)->interval->low > plan.limit;
}

Interval limits(const RowCounts& counts, Confidence each, Confidence confidence) {
    if (counts.hits == 0)
        return {0.0, unseen_share(counts.entries, confidence.each_tail())};
    if (!by_chain(counts))
        return *row_share(counts, 1.0, each)->interval;
    const double tail = each.each_tail();
    const double low =
        counts.events() >= fewest_rows ? law_of(counts, lower_side(counts)).quantile(tail) : 0.0;
    return {low, law_of(counts, upper_side(counts)).quantile(1.0 - tail)};
}

} // namespace

Confidence confidence_of_each(const Monitoring& monitoring, Confidence confidence) {
    const double ratio = static_cast<double>(std::max(monitoring.first, monitoring.most)) /
                         static_cast<double>(monitoring.first);
    return Confidence{1.0 - 2.0 * normal_sf(boundary(std::log(ratio), confidence))};
}

std::optional<Estimate> monitored_share(const RowCounts& counts, const Monitoring& monitoring,
                                        Confidence confidence) {
    if (counts.entries == 0)
        return std::nullopt;
    const double value = static_cast<double>(counts.hits) / static_cast<double>(counts.entries);
    const Interval seen = limits(counts, confidence_of_each(monitoring, confidence), confidence);
    return Estimate{.value = value,
                    .interval = Interval{std::min(value, seen.low), std::max(value, seen.high)},
                    .confidence = confidence,
                    .method = fmt::format("two-state Markov chain, whenever the run ends from {} "
                                          "to {} drops",
                                          monitoring.first, monitoring.most),
                    .events = counts.events()};
}

LimitTest::LimitTest(const LimitPlan& plan)
    : plan_(plan), each_(confidence_of_each(plan.monitoring, plan.confidence)) {
    if (plan.monitoring.first < 1 || plan.monitoring.most < 1 || plan.every < 1)
        throw BrokenInvariant("a test by a limit looks at no drop");
}

bool LimitTest::is_look() const {
    const std::int64_t n = counts_.entries;
    return n >= plan_.monitoring.first &&
           (n % plan_.every == 0 || n == plan_.least || n == plan_.monitoring.most);
}

Decision LimitTest::look() const {
    const double share = static_cast<double>(counts_.hits) / static_cast<double>(counts_.entries);
    const bool below = share < plan_.limit;
    if (below && counts_.entries >= plan_.least && is_inside(counts_, plan_, each_))
        return Decision::accept;
    if (!below && is_beyond(counts_, plan_, each_))
        return Decision::reject;
    return Decision::go_on;
}

Decision LimitTest::step(bool hit) {
    if (decision_ != Decision::go_on)
        return decision_;
    counts_.begins_in_row = counts_.entries == 0 ? hit : counts_.begins_in_row;
    counts_.rows += hit && !counts_.ends_in_row ? 1 : 0;
    counts_.hits += hit ? 1 : 0;
    counts_.ends_in_row = hit;
    ++counts_.entries;
    if (is_look())
        decision_ = look();
    if (decision_ == Decision::go_on && counts_.entries >= plan_.monitoring.most)
        decision_ = Decision::undecided;
    return decision_;
}

} // namespace dropledger::statistics
