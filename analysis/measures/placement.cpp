#include "analysis/measures/placement.hpp"

#include "analysis/statistics/proportion.hpp"
#include "analysis/statistics/quantile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr double um_per_mm = 1000.0;

struct QuantileAsked {
    double share = 0.5;
    double inflation = 1.0;
    std::string method;
};

statistics::Ranks set_apart(statistics::Ranks ranks, double centre, double times, std::int64_t n) {
    const auto low = centre - (centre - static_cast<double>(ranks.low)) * times;
    const auto high = centre + (static_cast<double>(ranks.high) - centre) * times;
    return {.low = std::max<std::int64_t>(1, std::llround(std::floor(low))),
            .high = std::min<std::int64_t>(n, std::llround(std::ceil(high)))};
}

std::optional<Estimate> quantile_mm(const FineHistogram& values, const QuantileAsked& asked,
                                    Confidence confidence) {
    const auto value = values.quantile(asked.share);
    if (!value)
        return std::nullopt;
    Estimate estimate{*value / um_per_mm, std::nullopt, confidence, asked.method};
    auto ranks = statistics::quantile_ranks(values.count(), Share{asked.share}, confidence);
    if (!ranks)
        return estimate;
    if (asked.inflation > 1.0) {
        const double centre = asked.share * static_cast<double>(values.count() - 1) + 1.0;
        ranks = set_apart(*ranks, centre, std::sqrt(asked.inflation), values.count());
        estimate.method += fmt::format(", variance inflated {:.2f} times", asked.inflation);
    }
    estimate.interval = Interval{static_cast<double>(values.at_rank(ranks->low)) / um_per_mm,
                                 static_cast<double>(values.at_rank(ranks->high)) / um_per_mm};
    return estimate;
}

std::optional<Estimate> in_mm(std::optional<Estimate> estimate) {
    if (!estimate)
        return estimate;
    estimate->value /= um_per_mm;
    if (estimate->interval)
        estimate->interval = Interval{estimate->interval->low / um_per_mm,
                                      estimate->interval->high / um_per_mm};
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
    moments_.add(error_um);
    if (seeds == 1)
        lone_.add(error_um);
    if (allowance_um_)
        inside_.add(std::abs(error_um) <= *allowance_um_);
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
    const double inflation = moments_.inflation();
    const FineHistogram magnitudes = this->magnitudes();
    result.offset_mm = mirrored(
        quantile_mm(landings_, {0.5, inflation, "median of landings, order statistics"}, confidence),
        direction);
    result.bias_mm = mirrored(in_mm(moments_.mean_estimate(confidence)), direction);
    result.lone_bias_mm = mirrored(in_mm(lone_.mean_estimate(confidence)), direction);
    result.sd_mm = in_mm(moments_.sd_estimate(confidence));
    result.p95_abs_mm = quantile_mm(
        magnitudes, {0.95, inflation, "95th percentile of |e|, order statistics"}, confidence);
    if (allowance_um)
        result.within_allowance = statistics::share_estimate(
            magnitudes.count_between(0, *allowance_um), magnitudes.count(),
            allowance_um == allowance_um_ ? inside_.independence().inflation : inflation, confidence);
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
