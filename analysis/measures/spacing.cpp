#include "analysis/measures/spacing.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace dropledger::measures {

using statistics::Estimate;

namespace {

constexpr std::int64_t cp3_half_band_um = 15'000;
constexpr double um_per_mm = 1000.0;

std::optional<Estimate> scaled(std::optional<Estimate> estimate, double factor) {
    if (!estimate)
        return estimate;
    estimate->value *= factor;
    if (estimate->interval)
        estimate->interval = {estimate->interval->low * factor, estimate->interval->high * factor};
    return estimate;
}

// Rows of misses are few long spacings that rule mean and sd of all spacings; batch means of a
// short run see too few of them. On the log scale, for the error grows with the value.
std::optional<Estimate> widened(std::optional<Estimate> estimate, double inflation) {
    if (!estimate || !estimate->interval || !(inflation > 1.0) || !(estimate->interval->low > 0.0))
        return estimate;
    const double times = std::sqrt(inflation);
    const double value = estimate->value;
    estimate->interval =
        statistics::Interval{value * std::pow(estimate->interval->low / value, times),
                             value * std::pow(estimate->interval->high / value, times)};
    estimate->method += fmt::format(", widened {:.2f} times", times);
    return estimate;
}

} // namespace

std::int64_t IndexCounts::spacings() const {
    return std::accumulate(classes.begin(), classes.end(), std::int64_t{0});
}
std::int64_t IndexCounts::multiples() const {
    return classes[0];
}
std::int64_t IndexCounts::misses() const {
    return classes[2] + 2 * classes[3] + 3 * classes[4];
}
std::int64_t IndexCounts::singles() const {
    return spacings() - 2 * multiples();
}
std::int64_t IndexCounts::intervals() const {
    return multiples() + singles() + misses();
}

std::size_t spacing_class(std::int64_t spacing_um, std::int64_t reference_um) {
    const std::int64_t twice = 2 * spacing_um;
    for (std::size_t edge = 0; edge < 4; ++edge)
        if (twice <= static_cast<std::int64_t>(2 * edge + 1) * reference_um)
            return edge;
    return 4;
}

SpacingTally::SpacingTally(std::int64_t reference_um)
    : reference_um_(reference_um), all_(reference_um), singles_(reference_um),
      histogram_(histogram_classes, 0) {
    if (reference_um <= 0)
        throw BrokenInvariant("spacings need a theoretical spacing above 0");
}

void SpacingTally::add(std::int64_t spacing_um) {
    if (spacing_um < 0)
        throw BrokenInvariant(fmt::format("a spacing of {} um: landings out of order", spacing_um));
    const std::size_t which = spacing_class(spacing_um, reference_um_);
    ++counts_.classes[which];
    all_.add(spacing_um);
    fine_.add(spacing_um);
    if (which == 1)
        singles_.add(spacing_um);
    spacing_multiples_.add(which == 0);
    spacing_misses_.add(which >= 2);
    add_intervals(which);
    // ceil(10·x / x_ref) − 1: an edge belongs to the lower class, 0 to the first
    const std::int64_t tenth =
        spacing_um == 0 ? 0 : (10 * spacing_um + reference_um_ - 1) / reference_um_ - 1;
    if (tenth < static_cast<std::int64_t>(histogram_classes))
        ++histogram_[static_cast<std::size_t>(tenth)];
    else
        ++beyond_;
}

// Runs of misses are one long spacing, so whether they come in bursts shows only in the intervals
// that should have held one seed: a spacing of class 3 is one missed and one kept, and so on; a
// multiple lies in the one it precedes.
void SpacingTally::add_intervals(std::size_t spacing_class) {
    if (spacing_class == 0) {
        multiple_waits_ = true;
        return;
    }
    for (std::size_t missed = 1; missed < spacing_class; ++missed) {
        misses_.add(true);
        multiples_.add(false);
    }
    misses_.add(false);
    multiples_.add(multiple_waits_);
    multiple_waits_ = false;
}

void SpacingTally::add_per_spacing(SpacingResult& result, Confidence confidence) const {
    const std::int64_t n = counts_.spacings();
    if (n == 0)
        return;
    const double misses = spacing_misses_.independence().inflation;
    const double multiples = spacing_multiples_.independence().inflation;
    const auto share = [&](std::int64_t x, double inflation) {
        return statistics::share_estimate(x, n, inflation, confidence);
    };
    result.per_spacing = {
        share(counts_.classes[0], multiples),
        share(counts_.classes[2] + counts_.classes[3] + counts_.classes[4], misses),
        share(counts_.classes[1], std::max(misses, multiples))};
}

void SpacingTally::add_iso(SpacingResult& result, Confidence confidence) const {
    const double misses = result.misses_independence.inflation;
    const double multiples = result.multiples_independence.inflation;
    const auto share = [&](std::int64_t x, double inflation) {
        return statistics::share_estimate(x, counts_.intervals(), inflation, confidence);
    };
    if (counts_.defined()) {
        result.iso = {share(counts_.multiples(), multiples), share(counts_.misses(), misses),
                      share(counts_.singles(), std::max(misses, multiples))};
        return;
    }
    result.notes.emplace_back(
        counts_.spacings() == 0
            ? "Spacing indices are not defined: there is no spacing."
            : fmt::format("ISO spacing indices are not defined: n1 = {}, N' = {} (most spacings "
                          "are multiples).",
                          counts_.singles(), counts_.intervals()));
}

Cp3 SpacingTally::cp3(std::int64_t low_um, std::int64_t inside, Confidence confidence) const {
    Cp3 result;
    result.inside = inside;
    result.centre_mm = static_cast<double>(low_um + cp3_half_band_um) / um_per_mm;
    result.share = statistics::share_estimate(inside, counts_.spacings(), 1.0, confidence);
    return result;
}

void SpacingTally::add_cp3(SpacingResult& result, Confidence confidence) const {
    const auto fullest = fine_.fullest_band(2 * cp3_half_band_um);
    if (!fullest)
        return;
    const std::int64_t low = reference_um_ - cp3_half_band_um;
    const std::int64_t high = reference_um_ + cp3_half_band_um;
    result.cp3_about_reference = cp3(low, fine_.count_between(low, high), confidence);
    result.cp3_fullest_band = cp3(fullest->low_um, fullest->count, confidence);
}

SpacingResult SpacingTally::result(Confidence confidence) const {
    SpacingResult result;
    result.reference_um = reference_um_;
    result.counts = counts_;
    result.misses_independence = misses_.independence();
    result.multiples_independence = multiples_.independence();
    add_iso(result, confidence);
    add_per_spacing(result, confidence);
    result.precision =
        scaled(singles_.sd_estimate(confidence), 1.0 / static_cast<double>(reference_um_));
    if (!result.precision)
        result.notes.push_back(
            fmt::format("Precision C is not defined (n'2 = {}).", counts_.classes[1]));
    const double inflation = result.misses_independence.inflation;
    result.mean_mm = widened(scaled(all_.mean_estimate(confidence), 1.0 / um_per_mm), inflation);
    result.sd_mm = widened(scaled(all_.sd_estimate(confidence), 1.0 / um_per_mm), inflation);
    result.histogram = histogram_;
    result.beyond_histogram = beyond_;
    add_cp3(result, confidence);
    return result;
}

} // namespace dropledger::measures
