#include "analysis/measures/placement.hpp"

#include "analysis/statistics/proportion.hpp"
#include "analysis/statistics/quantile.hpp"

#include <cmath>
#include <cstdlib>
#include <string>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr double um_per_mm = 1000.0;

std::optional<Estimate> quantile_mm(const FineHistogram& values, double share,
                                    Confidence confidence, std::string method) {
    const auto value = values.quantile(share);
    if (!value)
        return std::nullopt;
    Estimate estimate{*value / um_per_mm, std::nullopt, confidence, std::move(method)};
    if (const auto ranks = statistics::quantile_ranks(values.count(), Share{share}, confidence))
        estimate.interval =
            Interval{static_cast<double>(values.at_rank(ranks->low)) / um_per_mm,
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

void PlacementTally::add_entry(std::int64_t error_um) {
    entries_.add(error_um);
    magnitudes_.add(std::abs(error_um));
    moments_.add(error_um);
}

PlacementResult PlacementTally::result(std::optional<std::int64_t> allowance_um, int direction,
                                       Confidence confidence) const {
    PlacementResult result;
    result.offset_mm = mirrored(
        quantile_mm(landings_, 0.5, confidence, "median of landings, order statistics"), direction);
    result.bias_mm = mirrored(in_mm(moments_.mean_estimate(confidence)), direction);
    result.sd_mm = in_mm(moments_.sd_estimate(confidence));
    result.p95_abs_mm = quantile_mm(magnitudes_, 0.95, confidence,
                                    "95th percentile of |e|, order statistics");
    if (allowance_um)
        result.within_allowance = statistics::share_estimate(
            magnitudes_.count_between(0, *allowance_um), magnitudes_.count(), 1.0, confidence);
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
