#include "analysis/measures/placement.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/quantile.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string_view>

namespace dropledger::measures {

using statistics::Dependence;
using statistics::Estimate;
using statistics::Interval;

namespace {

// Too few values for a model of their dependence, or all alike: these leave no doubt.
std::optional<Estimate> without_model(Estimate estimate, const FineHistogram& values,
                                      double share) {
    const bool doubtful = values.count() < statistics::fewest_values ||
                          values.at_rank(1) != values.at_rank(values.count());
    if (doubtful) {
        estimate.no_interval = statistics::NoInterval::few_values;
        estimate.method += fmt::format("; {}", words(*estimate.no_interval));
    } else if (statistics::quantile_ranks(values.count(), Share{share}, estimate.confidence)) {
        estimate.interval = Interval{estimate.value, estimate.value};
        estimate.method += ", all values alike";
    } else {
        estimate.no_interval = statistics::NoInterval::too_few_ranks;
        estimate.method += fmt::format("; {}", words(*estimate.no_interval));
    }
    return estimate;
}

struct QuantileAsked {
    double share = 0.5;
    double design = 1.0; // variance inflation by clusters
    std::string_view what;
};

double from_centre(double value, double limit, double stretch) {
    return value + (limit - value) * stretch;
}

std::optional<Estimate> quantile_mm(const FineHistogram& values, const QuantileAsked& asked,
                                    const std::optional<Dependence>& dependence,
                                    Confidence confidence) {
    const auto value = values.quantile(asked.share);
    if (!value)
        return std::nullopt;
    Estimate estimate{*value / um_per_mm, std::nullopt, confidence,
                      fmt::format("{}, order statistics", asked.what)};
    if (!dependence)
        return without_model(estimate, values, asked.share);
    const auto limits = statistics::quantile_ranks(
        values.count(), {.share = asked.share, .design = asked.design}, *dependence, confidence);
    estimate.no_interval = limits.no_interval;
    if (!limits.ranks) {
        estimate.method += fmt::format("; {}", words(*limits.no_interval));
        return estimate;
    }
    const auto limit = [&](std::int64_t rank) {
        return from_centre(*value, static_cast<double>(values.at_rank(rank)), limits.stretch) /
               um_per_mm;
    };
    estimate.method += ", correlation of neighbours integrated out";
    if (asked.design > 1.0)
        estimate.method +=
            fmt::format(", portions as clusters ({:.2f} times the variance)", asked.design);
    estimate.interval = Interval{limit(limits.ranks->low), limit(limits.ranks->high)};
    return estimate;
}

// Where errors wander, their median is known no better than their mean: ranks show the spread
// inside the run, not how far all of it may lie off.
void never_better_than_the_mean(const Dependence& dependence, Estimate& offset_mm) {
    if (!offset_mm.interval)
        return;
    const double half = dependence.doubt() *
                        statistics::MeanLaw{dependence}.half_width(offset_mm.confidence) /
                        um_per_mm;
    offset_mm.interval = Interval{std::min(offset_mm.interval->low, offset_mm.value - half),
                                  std::max(offset_mm.interval->high, offset_mm.value + half)};
}

std::optional<Estimate> share_inside(const FineHistogram& magnitudes, std::int64_t allowance_um,
                                     const std::optional<Dependence>& dependence,
                                     Confidence confidence) {
    const std::int64_t inside = magnitudes.count_between(0, allowance_um);
    if (dependence && magnitudes.count() > 0)
        return statistics::share_estimate(inside, magnitudes.count(), *dependence, confidence);
    return statistics::share_estimate(inside, magnitudes.count(), 1.0, confidence);
}

std::optional<Estimate> in_mm(std::optional<Estimate> estimate) {
    if (!estimate)
        return estimate;
    estimate->value /= um_per_mm;
    if (estimate->interval)
        estimate->interval =
            Interval{estimate->interval->low / um_per_mm, estimate->interval->high / um_per_mm};
    return estimate;
}

std::optional<Estimate> mirrored(std::optional<Estimate> estimate, int direction) {
    if (!estimate || direction > 0)
        return estimate;
    estimate->value = -estimate->value;
    if (estimate->interval)
        estimate->interval = Interval{-estimate->interval->high, -estimate->interval->low};
    return estimate;
}

} // namespace

void PlacementTally::add_entry(std::int64_t error_um, std::uint32_t seeds) {
    entries_.add(error_um);
    errors_um_.add(error_um);
    if (seeds == 1)
        lone_um_.add(error_um);
    const Wide sum = Wide{error_um} * seeds;
    clusters_.squares += sum * sum;
    clusters_.products += sum * seeds;
    clusters_.sizes += std::int64_t{seeds} * seeds;
}

// Variance of the mean over landings, portions taken as independent clusters, over that of
// independent landings; with Student's t for the number of portions. 1 where each seed is alone.
double PlacementTally::cluster_inflation(Confidence confidence) const {
    const auto landings = static_cast<double>(landings_.count());
    const auto portions = static_cast<double>(errors_um_.count());
    if (portions < 2.0 || clusters_.sizes <= errors_um_.count())
        return 1.0;
    double sum = 0.0;
    double squares = 0.0;
    landings_.for_each([&](std::int64_t error_um, std::int64_t times) {
        sum += static_cast<double>(error_um) * static_cast<double>(times);
    });
    const double mean = sum / landings;
    landings_.for_each([&](std::int64_t error_um, std::int64_t times) {
        const double apart = static_cast<double>(error_um) - mean;
        squares += apart * apart * static_cast<double>(times);
    });
    const double between = static_cast<double>(clusters_.squares) -
                           2.0 * mean * static_cast<double>(clusters_.products) +
                           mean * mean * static_cast<double>(clusters_.sizes);
    if (!(squares > 0.0) || between <= squares)
        return 1.0;
    const double t = statistics::student_t_quantile(1.0 - confidence.each_tail(), portions - 1.0) /
                     statistics::normal_quantile(1.0 - confidence.each_tail());
    return between / squares * t * t;
}

// Mean fourth power about the median over the squared variance.
double PlacementTally::kurtosis() const {
    const double middle = entries_.quantile(0.5).value_or(0.0);
    const double variance = errors_um_.sample_variance().value_or(0.0);
    double fourth = 0.0;
    entries_.for_each([&](std::int64_t error_um, std::int64_t times) {
        const double apart = static_cast<double>(error_um) - middle;
        fourth += apart * apart * apart * apart * static_cast<double>(times);
    });
    return fourth / (static_cast<double>(entries_.count()) * variance * variance);
}

FineHistogram PlacementTally::magnitudes() const {
    FineHistogram magnitudes;
    entries_.for_each([&](std::int64_t error_um, std::int64_t times) {
        magnitudes.add(std::abs(error_um), static_cast<std::uint32_t>(times));
    });
    return magnitudes;
}

PlacementResult PlacementTally::result(std::optional<std::int64_t> allowance_um, int direction,
                                       Confidence confidence) const {
    PlacementResult result;
    result.direction = direction;
    const auto dependence = errors_um_.dependence();
    const FineHistogram magnitudes = this->magnitudes();
    result.offset_mm = mirrored(
        quantile_mm(
            landings_,
            {.share = 0.5, .design = cluster_inflation(confidence), .what = "median of landings"},
            dependence, confidence),
        direction);
    result.bias_mm = mirrored(in_mm(mean_of(errors_um_, "mean", confidence)), direction);
    result.lone_bias_mm = mirrored(in_mm(mean_of(lone_um_, "mean", confidence)), direction);
    result.sd_mm = in_mm(sd_of(errors_um_, kurtosis(), confidence));
    result.p95_abs_mm =
        quantile_mm(magnitudes, {.share = 0.95, .design = 1.0, .what = "95th percentile of |e|"},
                    dependence, confidence);
    if (dependence && result.offset_mm)
        never_better_than_the_mean(*dependence, *result.offset_mm);
    if (result.p95_abs_mm && result.p95_abs_mm->interval)
        result.p95_abs_mm->interval->low = std::max(0.0, result.p95_abs_mm->interval->low);
    if (allowance_um)
        result.within_allowance = share_inside(magnitudes, *allowance_um, dependence, confidence);
    if (dependence && result.bias_mm->interval)
        result.bias_law_um = statistics::MeanLaw{*dependence};
    return result;
}

std::optional<std::int64_t> PlacementTally::median_landing_um() const {
    const auto median = landings_.quantile(0.5);
    return median ? std::optional{static_cast<std::int64_t>(std::llround(*median))} : std::nullopt;
}

std::int64_t PlacementTally::near_border(std::int64_t registration_um, std::int64_t spacing_um,
                                         std::int64_t margin_um) const {
    const std::int64_t half = spacing_um / 2;
    return landings_.count_between(registration_um - half - margin_um,
                                   registration_um - half + margin_um) +
           landings_.count_between(registration_um + half - margin_um,
                                   registration_um + half + margin_um);
}

} // namespace dropledger::measures
