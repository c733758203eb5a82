// Notation: a, b chances that a row of misses starts and ends; t = a/b misses per place with a
// seed; u share of multiples; g places that a spacing spans.
#include "analysis/measures/spacing_spread.hpp"

#include "analysis/statistics/shares/chain_law.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/shares/row_share.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;
using statistics::NoInterval;
using statistics::WeightedValue;

namespace {

// A part of a sum: how far it may lie below and above its value.
struct Reach {
    double down = 0.0;
    double up = 0.0;
};

Reach reach(double value, const Interval& interval) {
    return {std::max(0.0, value - interval.low), std::max(0.0, interval.high - value)};
}

Reach both(const Reach& first, const Reach& second) {
    return {std::hypot(first.down, second.down), std::hypot(first.up, second.up)};
}

// Mean of g on the log scale: ln(1 − u) − ln(1 − π).
Reach places_reach(const Estimate& misses, const Estimate& multiples) {
    const auto rest = [](double share) { return std::log(std::max(1e-12, 1.0 - share)); };
    const Reach gaps{rest(misses.interval->low) - rest(misses.value),
                     rest(misses.value) - rest(misses.interval->high)};
    const Reach doubles{rest(multiples.value) - rest(multiples.interval->high),
                        rest(multiples.interval->low) - rest(multiples.value)};
    return both(gaps, doubles);
}

// Why there can be no interval, whatever the residuals say.
std::optional<NoInterval> hindrance(const SpacingParts& parts) {
    if (parts.spacings < 2 || parts.misses.entries == 0)
        return NoInterval::few_values;
    return std::nullopt;
}

// Parts of a sum in quadrature are wide enough without the reserve of Clopper and Pearson.
Estimate misses_of(const SpacingParts& parts, Confidence confidence) {
    Estimate share = *statistics::row_share(parts.misses, parts.crowding, confidence);
    if (parts.misses.isolated() && parts.crowding <= 1.0)
        share.interval = statistics::jeffreys(parts.misses.hits, parts.misses.entries, confidence);
    return share;
}

struct Chain {
    double t = 0.0;
    double b = 1.0;
};

double variance_of_places(const Chain& chain, double u) {
    const double mean = (1.0 - u) * (1.0 + chain.t);
    const double square = (1.0 - u) * (1.0 + chain.t * (1.0 + 2.0 / chain.b));
    return std::max(0.0, square - mean * mean);
}

double quantile(std::vector<WeightedValue> values, double probability) {
    std::sort(values.begin(), values.end(),
              [](const WeightedValue& a, const WeightedValue& b) { return a.value < b.value; });
    double passed = 0.0;
    for (const WeightedValue& value : values) {
        passed += value.weight;
        if (passed >= probability)
            return value.value;
    }
    return values.back().value;
}

double chain_limit(const SpacingParts& parts, statistics::Side side, double probability) {
    const auto law =
        statistics::chain_law(statistics::chain_counts(parts.misses, parts.crowding), side);
    const auto starts = statistics::spread_over(law.start);
    const auto ends = statistics::spread_over(law.end);
    std::vector<WeightedValue> values;
    values.reserve(starts.size() * ends.size());
    constexpr double least = 1e-9;
    for (const WeightedValue& end : ends)
        for (const WeightedValue& start : starts) {
            const double b = std::max(least, end.value);
            values.push_back({variance_of_places({start.value / b, b}, parts.multiples.value),
                              start.weight * end.weight});
        }
    return quantile(std::move(values), probability);
}

// Of var(g), by the misses alone.
Interval by_misses(const SpacingParts& parts, const Estimate& share, Confidence confidence) {
    const double u = parts.multiples.value;
    if (parts.misses.isolated()) {
        const auto at = [&](double pi, double ends) {
            return variance_of_places({pi / std::max(1e-12, 1.0 - pi), ends}, u);
        };
        const double most =
            statistics::clopper_pearson(parts.misses.hits, parts.misses.entries, confidence).high;
        return {at(share.interval->low, 1.0), at(most, std::max(1e-9, 1.0 - most))};
    }
    const double tail = confidence.each_tail();
    const bool has_lower = parts.misses.rows >= statistics::fewest_rows;
    return {has_lower ? chain_limit(parts, statistics::Side::lower, tail)
                      : variance_of_places({0.0, 1.0}, u),
            chain_limit(parts, statistics::Side::upper, 1.0 - tail)};
}

Chain fitted(const SpacingParts& parts) {
    const auto hits = static_cast<double>(parts.misses.hits);
    const auto rows = static_cast<double>(parts.misses.rows);
    const double kept = static_cast<double>(parts.misses.entries) - hits;
    return {hits / kept, hits > 0.0 ? rows / hits : 1.0};
}

// The chain's interval, and the same moved in proportion to the sample's own value.
Interval with_sample(const Interval& interval, double chain_value, double sample_value) {
    if (!(chain_value > 0.0))
        return interval;
    const double ratio = sample_value / chain_value;
    return {std::min(interval.low, interval.low * ratio),
            std::max(interval.high, interval.high * ratio)};
}

Reach variance_reach(const SpacingParts& parts, const Estimate& share, Confidence confidence) {
    const Chain chain = fitted(parts);
    const double value = variance_of_places(chain, parts.multiples.value);
    const Interval gaps =
        with_sample(by_misses(parts, share, confidence), value, parts.place_variance);
    const auto at = [&](double u) { return variance_of_places(chain, u); };
    const double low_u = at(parts.multiples.interval->low);
    const double high_u = at(parts.multiples.interval->high);
    return both(reach(parts.place_variance, gaps),
                reach(value, {std::min(low_u, high_u), std::max(low_u, high_u)}));
}

} // namespace

Estimate mean_of_spacings(const SpacingParts& parts, Confidence confidence) {
    Estimate estimate{.value = parts.mean_um, .confidence = confidence, .method = "mean"};
    estimate.no_interval = hindrance(parts);
    if (estimate.no_interval)
        return estimate;
    const Estimate share = misses_of(parts, confidence);
    const Reach log_places = places_reach(share, parts.multiples);
    const double spanned = static_cast<double>(parts.reference_um) * (1.0 - parts.multiples.value) /
                           (1.0 - share.value);
    const Reach places{spanned * (1.0 - std::exp(-log_places.down)),
                       spanned * (std::exp(log_places.up) - 1.0)};
    const Reach all =
        both(places, reach(parts.residual_mean_um->value, *parts.residual_mean_um->interval));
    estimate.interval = Interval{std::max(0.0, estimate.value - all.down), estimate.value + all.up};
    estimate.method = "mean; misses and multiples as their shares, and single spacings by " +
                      parts.residual_mean_um->method;
    return estimate;
}

Estimate sd_of_spacings(const SpacingParts& parts, Confidence confidence) {
    Estimate estimate{
        .value = parts.sd_um, .confidence = confidence, .method = "sample standard deviation"};
    estimate.no_interval = hindrance(parts);
    if (!estimate.no_interval && !parts.residual_sd_um->interval)
        estimate.no_interval = NoInterval::all_equal;
    if (estimate.no_interval)
        return estimate;
    const Estimate share = misses_of(parts, confidence);
    const double reference = static_cast<double>(parts.reference_um);
    const Reach places = variance_reach(parts, share, confidence);
    const Interval sd = *parts.residual_sd_um->interval;
    const double residual = parts.residual_sd_um->value;
    const Reach all = both({reference * reference * places.down, reference * reference * places.up},
                           reach(residual * residual, {sd.low * sd.low, sd.high * sd.high}));
    const double variance = parts.sd_um * parts.sd_um;
    estimate.interval =
        Interval{std::sqrt(std::max(0.0, variance - all.down)), std::sqrt(variance + all.up)};
    estimate.method = "sample standard deviation; misses and multiples as their shares, and "
                      "single spacings by " +
                      parts.residual_sd_um->method;
    return estimate;
}

} // namespace dropledger::measures
