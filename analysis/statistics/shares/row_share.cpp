// Notation: x hits of n entries in r rows; a, b chances of a start and of an end; q = 1 − b.
#include "analysis/statistics/shares/row_share.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/shares/chain_law.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace dropledger::statistics {

namespace {

constexpr const char* chain = "two-state Markov chain";

void check(const RowCounts& counts) {
    if (counts.hits < 0 || counts.hits > counts.entries || counts.rows > counts.hits ||
        (counts.hits > 0 && counts.rows < 1))
        throw BrokenInvariant(fmt::format("share: {} hits in {} rows of {} entries", counts.hits,
                                          counts.rows, counts.entries));
}

std::string chain_words(double crowding) {
    return crowding > 1.0
               ? fmt::format("{}, variance of the starts inflated {:.2f} times", chain, crowding)
               : chain;
}

Interval chain_interval(const RowCounts& counts, double crowding, Confidence confidence) {
    const ChainCounts steps = chain_counts(counts, crowding);
    const double tail = confidence.each_tail();
    const bool has_lower = counts.events() >= fewest_rows;
    return {.low = has_lower ? share_law(chain_law(steps, Side::lower)).quantile(tail) : 0.0,
            .high = share_law(chain_law(steps, Side::upper)).quantile(1.0 - tail)};
}

// Mean hits that count in a row, of which the seen ones have `seen`: 1 + q + q² but for a factor,
// since rows need not be geometric.
std::vector<WeightedValue> capped_lengths(BetaShape end, double factor) {
    std::vector<WeightedValue> lengths = spread_over(end);
    for (WeightedValue& length : lengths) {
        const double q = 1.0 - length.value;
        length.value = factor * (1.0 + q + q * q);
    }
    return lengths;
}

Interval capped_interval(const CappedRows& counts, double crowding, Confidence confidence) {
    const double effective = std::max(1.0, crowding);
    const auto rows = static_cast<double>(counts.rows());
    const ChainCounts steps{.starts = rows / effective,
                            .quiet =
                                static_cast<double>(counts.starts_from - counts.rows()) / effective,
                            .ends = static_cast<double>(counts.of_one + counts.of_two),
                            .stays = static_cast<double>(counts.of_two + 2 * counts.of_more)};
    const double q = steps.stays / (steps.stays + steps.ends);
    const double factor = static_cast<double>(counts.hits()) / rows / (1.0 + q + q * q);
    const auto limit = [&](Side side, double probability) {
        const ChainLaw law = chain_law(steps, side);
        return ShareLaw{law.start, capped_lengths(law.end, factor)}.quantile(probability);
    };
    const double tail = confidence.each_tail();
    return {.low = counts.rows() >= fewest_rows ? limit(Side::lower, tail) : 0.0,
            .high = limit(Side::upper, 1.0 - tail)};
}

// The chain's centre is not quite hits/entries.
Interval holding(double value, Interval interval) {
    return {std::min(value, interval.low), std::max(value, interval.high)};
}

} // namespace

std::optional<Estimate> row_share(const RowCounts& counts, double crowding, Confidence confidence) {
    check(counts);
    auto plain = share_estimate(counts.hits, counts.entries, crowding, confidence);
    if (!plain)
        return plain;
    plain->events = counts.events();
    const RowCounts others = counts.others();
    const bool most_are_hits = others.hits < counts.hits;
    const RowCounts& rarer = most_are_hits ? others : counts;
    if (rarer.isolated())
        return plain;
    const Interval seen = chain_interval(rarer, crowding, confidence);
    plain->interval =
        holding(plain->value, most_are_hits ? Interval{1.0 - seen.high, 1.0 - seen.low} : seen);
    plain->method = chain_words(crowding);
    return plain;
}

std::optional<Estimate> capped_row_share(const CappedRows& counts, double crowding,
                                         Confidence confidence) {
    if (counts.of_two + counts.of_more == 0) {
        auto plain =
            share_estimate(counts.hits(), counts.starts_from + counts.hits(), crowding, confidence);
        if (plain)
            plain->events = counts.rows();
        return plain;
    }
    const double value = static_cast<double>(counts.hits()) /
                         static_cast<double>(counts.starts_from + counts.hits());
    return Estimate{.value = value,
                    .interval = holding(value, capped_interval(counts, crowding, confidence)),
                    .confidence = confidence,
                    .method = chain_words(crowding) + ", rows counted as three at most",
                    .events = counts.rows()};
}

Estimate rest_of_one(const Estimate& first, const Estimate& second, Sum sum) {
    Estimate rest{.value = 1.0 - first.value - second.value,
                  .confidence = first.confidence,
                  .method = sum == Sum::in_full
                                ? "what the two others leave"
                                : "what the two others leave, limits in quadrature"};
    if (first.events && second.events)
        rest.events = *first.events + *second.events;
    if (!first.interval || !second.interval) {
        rest.no_interval = first.interval ? second.no_interval : first.no_interval;
        return rest;
    }
    const auto together = [&](double a, double b) {
        return sum == Sum::in_full ? a + b : std::hypot(a, b);
    };
    const double down =
        together(first.interval->high - first.value, second.interval->high - second.value);
    const double up =
        together(first.value - first.interval->low, second.value - second.interval->low);
    rest.interval = Interval{std::max(0.0, rest.value - down), std::min(1.0, rest.value + up)};
    return rest;
}

Interval product_of(const Estimate& first, const Estimate& second, Sum sum) {
    const double value = first.value * second.value;
    if (!(value > 0.0))
        return {0.0, first.interval->high * second.interval->high};
    if (sum == Sum::in_full)
        return {first.interval->low * second.interval->low,
                first.interval->high * second.interval->high};
    constexpr double endless = std::numeric_limits<double>::infinity();
    const auto apart = [](double a, double b) { return a > 0.0 ? std::log(b / a) : endless; };
    const double down = std::hypot(apart(first.interval->low, first.value),
                                   apart(second.interval->low, second.value));
    const double up = std::hypot(apart(first.value, first.interval->high),
                                 apart(second.value, second.interval->high));
    return {value * std::exp(-down), std::min(1.0, value * std::exp(up))};
}

} // namespace dropledger::statistics
