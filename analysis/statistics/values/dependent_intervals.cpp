#include "analysis/statistics/values/dependent_intervals.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

namespace dropledger::statistics {

namespace {

constexpr double alike = 1.03; // values nearer than this are one: saves time, moves no limit
constexpr int halvings = 40;

// Where a rising function reaches 0 between two places.
template <class Function> double root(double low, double high, const Function& rising) {
    for (int i = 0; i < halvings; ++i) {
        const double middle = 0.5 * (low + high);
        (rising(middle) < 0.0 ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

struct Weighted {
    double weight = 0.0;
    double value = 0.0;
};

// Values nearer to each other than `alike` become their weighted mean.
std::vector<Weighted> gathered(std::vector<Weighted> all) {
    std::sort(all.begin(), all.end(),
              [](const Weighted& a, const Weighted& b) { return a.value < b.value; });
    std::vector<Weighted> out;
    double from = 0.0;
    for (const Weighted& one : all) {
        if (out.empty() || one.value > alike * from) {
            out.push_back(one);
            from = one.value;
            continue;
        }
        Weighted& last = out.back();
        const double weight = last.weight + one.weight;
        last.value = (last.weight * last.value + one.weight * one.value) / weight;
        last.weight = weight;
    }
    return out;
}

std::string with_inflation(std::string_view how, double inflation) {
    return fmt::format("{}, correlation of neighbours integrated out (variance {:.2f} times)", how,
                       inflation);
}

} // namespace

MeanLaw::MeanLaw(const Dependence& dependence) {
    const auto n = static_cast<double>(dependence.n());
    std::vector<Weighted> scales;
    double degrees = 0.0;
    for (const DependencePoint& point : dependence.points()) {
        scales.push_back(
            {.weight = point.weight,
             .value = std::sqrt(point.variance * dependence.mean_inflation(point) / n)});
        degrees += point.weight * point.degrees;
    }
    for (const Weighted& one : gathered(std::move(scales)))
        parts_.push_back({.weight = one.weight, .scale = one.value, .degrees = degrees});
}

double MeanLaw::beyond(double apart) const {
    return beyond(apart, 0.0);
}

double MeanLaw::beyond(double apart, double u) const {
    double all = 0.0;
    for (const Part& part : parts_)
        all += part.weight * 2.0 *
               student_t_sf(std::abs(apart) / std::hypot(part.scale, u), part.degrees);
    return std::min(1.0, all);
}

double MeanLaw::half_width(Confidence confidence) const {
    const double error = 1.0 - confidence.level();
    double high = parts_.back().scale; // the largest
    while (beyond(high) > error)
        high *= 2.0;
    return root(0.0, high, [&](double half) { return error - beyond(half); });
}

double MeanLaw::standard_error() const {
    double squares = 0.0;
    for (const Part& part : parts_)
        squares += part.weight * part.scale * part.scale;
    return std::sqrt(squares);
}

std::optional<NoInterval> reason_against(const Dependence& dependence) {
    if (dependence.n() < fewest_values)
        return NoInterval::few_values;
    if (dependence.effective_n() < fewest_effective)
        return NoInterval::hangs_together;
    return std::nullopt;
}

Estimate mean_estimate(double value, const Dependence& dependence, std::string_view what,
                       Confidence confidence) {
    Estimate estimate{.value = value,
                      .interval = std::nullopt,
                      .confidence = confidence,
                      .method = std::string{what},
                      .no_interval = reason_against(dependence)};
    if (estimate.no_interval) {
        estimate.method += fmt::format("; {}", words(*estimate.no_interval));
        return estimate;
    }
    const double half = MeanLaw{dependence}.half_width(confidence);
    estimate.interval = Interval{value - half, value + half};
    estimate.method =
        with_inflation(fmt::format("{}, Student's t", what), dependence.mean_inflation());
    return estimate;
}

namespace {

// Kurtosis − 1 that the estimate's variance rests on: a short sample shows less of heavy tails than
// there is.
double spread_of_squares(const SampleShape& shape, double n) {
    constexpr double excess_raised = 10.0;
    constexpr double all_raised = 0.5;
    constexpr double least = 0.3;
    double excess = shape.kurtosis - 3.0;
    if (excess > 0.0)
        excess *= 1.0 + excess_raised / std::sqrt(n);
    return std::max(least, (2.0 + excess + shape.by_mean) * (1.0 + all_raised / std::sqrt(n)));
}

} // namespace

namespace {

// At one point of the dependence the variance is factor · degrees / chi-square times its estimate.
struct VariancePart {
    double weight = 0.0;
    double factor = 1.0;
    double degrees = 1.0;
};

// P(variance < ratio · estimate) = probability.
double limit_of_variance(const std::vector<VariancePart>& parts, double probability) {
    const auto below = [&](double ratio) {
        double all = 0.0;
        for (const VariancePart& part : parts)
            all += part.weight * chi_squared_sf(part.factor * part.degrees / ratio, part.degrees);
        return all;
    };
    double low = 1.0;
    double high = 1.0;
    while (below(low) > probability)
        low /= 2.0;
    while (below(high) < probability)
        high *= 2.0;
    return std::exp(root(std::log(low), std::log(high), [&](double log_ratio) {
        return below(std::exp(log_ratio)) - probability;
    }));
}

} // namespace

VarianceFactors variance_factors(const Dependence& dependence, const SampleShape& shape,
                                 Confidence confidence) {
    if (auto why = reason_against(dependence))
        return {.interval = std::nullopt, .no_interval = why};
    if (dependence.n() < fewest_for_sd)
        return {.interval = std::nullopt, .no_interval = NoInterval::tails_unknown};
    const auto n = static_cast<double>(dependence.n());
    const double squares = spread_of_squares(shape, n);
    std::vector<VariancePart> low;
    std::vector<VariancePart> high;
    for (const DependencePoint& point : dependence.points()) {
        // E[sum of squares] = variance · (n − inflation of the mean)
        const double factor = (n - 1.0) / std::max(1.0, n - dependence.mean_inflation(point));
        const double effective = (n - 1.0) / dependence.square_inflation(point);
        const double degrees = 2.0 * effective / squares;
        low.push_back({point.weight, factor, degrees});
        // The energies may explain more than the sum of squares shows: a run that happened to stay
        // near its mean.
        const double explained = point.variance / dependence.sample_variance();
        high.push_back({point.weight, std::max(factor, explained), degrees});
    }
    const double tail = confidence.each_tail();
    return {.interval = Interval{limit_of_variance(low, tail), limit_of_variance(high, 1.0 - tail)},
            .no_interval = std::nullopt};
}

namespace {

// What the order of values that hang together does to the ranks of a quantile and to its limits.
struct RankWidening {
    std::vector<Weighted> inflations;
    double stretch_squared = 0.0;
};

RankWidening widening_of(const RanksAsked& asked, const Dependence& dependence) {
    const IndicatorWeights weights{asked.share};
    const auto n = static_cast<double>(dependence.n());
    RankWidening out;
    for (const DependencePoint& point : dependence.points()) {
        out.inflations.push_back(
            {.weight = point.weight,
             .value = std::max(1.0, asked.design * weights.inflation(point, n))});
        out.stretch_squared +=
            point.weight * (n - 1.0) / std::max(1.0, n - dependence.mean_inflation(point));
    }
    out.inflations = gathered(std::move(out.inflations));
    return out;
}

// The last of the ranks 1 … count of which `holds` is true, as it is of all before it; 0: of none.
template <class Holds> std::int64_t last_rank_with(std::int64_t count, const Holds& holds) {
    std::int64_t low = 0;
    std::int64_t high = count + 1;
    while (high - low > 1) {
        const std::int64_t middle = low + (high - low) / 2;
        (holds(middle) ? low : high) = middle;
    }
    return low;
}

} // namespace

RankLimits quantile_ranks(std::int64_t count, const RanksAsked& asked, const Dependence& dependence,
                          Confidence confidence) {
    RankLimits out;
    out.no_interval = reason_against(dependence);
    if (out.no_interval)
        return out;
    const RankWidening widening = widening_of(asked, dependence);
    // The share of the distribution below the rank-th smallest is Beta(rank, count − rank + 1),
    // here of fewer values.
    const auto shape = [&](std::int64_t rank, double inflation) {
        return BetaShape{.a = static_cast<double>(rank) / inflation,
                         .b = static_cast<double>(count - rank + 1) / inflation};
    };
    const auto above = [&](std::int64_t rank) { // P(the rank's value lies above the quantile)
        double all = 0.0;
        for (const Weighted& one : widening.inflations)
            all += one.weight * beta_sf(asked.share, shape(rank, one.value));
        return all;
    };
    const double tail = confidence.each_tail();
    const Ranks ranks{
        .low = last_rank_with(count, [&](std::int64_t rank) { return above(rank) <= tail; }),
        .high =
            last_rank_with(count, [&](std::int64_t rank) { return 1.0 - above(rank) > tail; }) + 1};
    if (ranks.low < 1 || ranks.high > count) {
        out.no_interval = NoInterval::too_few_ranks;
        return out;
    }
    out.ranks = ranks;
    out.stretch = std::sqrt(widening.stretch_squared);
    return out;
}

Estimate share_estimate(std::int64_t x, std::int64_t n, const Dependence& dependence,
                        Confidence confidence) {
    const auto seen = static_cast<double>(x);
    const auto all = static_cast<double>(n);
    // Two more successes and failures, each as good as an independent one: a short wandering run
    // looks more settled than it is.
    const double few = 2.0 * dependence.mean_inflation();
    const IndicatorWeights weights{(seen + few) / (all + 2.0 * few)};
    std::vector<Weighted> inflations;
    double mean_inflation = 0.0;
    for (const DependencePoint& point : dependence.points()) {
        inflations.push_back({.weight = point.weight, .value = weights.inflation(point, all)});
        mean_inflation += inflations.back().weight * inflations.back().value;
    }
    inflations = gathered(std::move(inflations));
    const double tail = confidence.each_tail();
    const auto limit = [&](double a, double b, double probability) {
        return root(0.0, 1.0, [&](double share) {
            double below = 0.0;
            for (const Weighted& one : inflations)
                below += one.weight * beta_cdf(share, {.a = a / one.value, .b = b / one.value});
            return below - probability;
        });
    };
    return {.value = seen / all,
            .interval = Interval{x == 0 ? 0.0 : limit(seen, all - seen + 1.0, tail),
                                 x == n ? 1.0 : limit(seen + 1.0, all - seen, 1.0 - tail)},
            .confidence = confidence,
            .method = with_inflation("Clopper-Pearson", mean_inflation),
            .no_interval = std::nullopt};
}

} // namespace dropledger::statistics
