#include "analysis/measures/spacing.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/shares/row_share.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr std::int64_t cp3_half_band_um = 15'000;

std::optional<Estimate> scaled(std::optional<Estimate> estimate, double factor) {
    if (!estimate)
        return estimate;
    estimate->value *= factor;
    if (estimate->interval)
        estimate->interval = {estimate->interval->low * factor, estimate->interval->high * factor};
    return estimate;
}

// Every interval that holds a seed may be followed by a gap, a row of misses.
statistics::CappedRows rows_of_gaps(const IndexCounts& counts) {
    return {.starts_from = counts.spacings() - counts.multiples(),
            .of_one = counts.classes[2],
            .of_two = counts.classes[3],
            .of_more = counts.classes[4]};
}

std::int64_t gaps(const IndexCounts& counts) {
    return rows_of_gaps(counts).rows();
}

// How many places a spacing spans: 0 a multiple, 1 a single, 2 where one seed is missed. A border
// belongs to the fewer.
std::int64_t places_spanned(std::int64_t spacing_um, std::int64_t reference_um) {
    return (2 * spacing_um + reference_um - 1) / (2 * reference_um);
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
    constexpr std::int64_t last_class = 4;
    return static_cast<std::size_t>(std::min(last_class, places_spanned(spacing_um, reference_um)));
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
    add_intervals(which);
    add_places(spacing_um);
    if (which == 1 || !band_is_single())
        in_band_.add(std::abs(spacing_um - reference_um_) <= cp3_half_band_um);
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

void SpacingTally::add_places(std::int64_t spacing_um) {
    const std::int64_t places = places_spanned(spacing_um, reference_um_);
    places_ += places;
    places_squared_ += Wide{places} * places;
    residuals_.add(spacing_um - places * reference_um_);
}

// Where multiples follow each other: the chain's interval, times the multiples of an interval that
// holds any (1 but where three seeds and more came together).
std::optional<Interval> SpacingTally::multiples_per_interval(Confidence confidence) const {
    const statistics::RowCounts rows = multiples_.rows();
    if (rows.isolated() && multiples_.crowding() <= 1.0)
        return std::nullopt;
    const double times = static_cast<double>(counts_.multiples()) / static_cast<double>(rows.hits);
    const Interval share = *multiples_.share(confidence)->interval;
    return Interval{times * share.low, times * share.high};
}

std::optional<Estimate> SpacingTally::misses_index(Confidence confidence) const {
    return statistics::capped_row_share(rows_of_gaps(counts_), misses_.crowding(), confidence);
}

std::optional<Estimate> SpacingTally::multiples_index(Confidence confidence) const {
    auto index =
        statistics::share_estimate(counts_.multiples(), counts_.intervals(), 1.0, confidence);
    if (!index)
        return index;
    index->events = multiples_.rows().events();
    if (const auto rate = multiples_per_interval(confidence)) {
        index->interval = Interval{std::min(index->value, rate->low),
                                   std::min(1.0, std::max(index->value, rate->high))};
        index->method = multiples_.share(confidence)->method;
    }
    return index;
}

// r multiples an interval are r/(1 − M + r) of the spacings.
Estimate SpacingTally::multiples_per_spacing(Confidence confidence) const {
    const std::int64_t n = counts_.spacings();
    auto share = *statistics::share_estimate(counts_.multiples(), n, 1.0, confidence);
    share.events = multiples_.rows().events();
    const auto rate = counts_.intervals() > 0 ? multiples_per_interval(confidence) : std::nullopt;
    if (!rate)
        return share;
    const double kept =
        1.0 - static_cast<double>(counts_.misses()) / static_cast<double>(counts_.intervals());
    const auto per_spacing = [&](double r) { return r > 0.0 ? r / (kept + r) : 0.0; };
    share.interval = Interval{std::min(share.value, per_spacing(rate->low)),
                              std::max(share.value, per_spacing(rate->high))};
    share.method = multiples_.share(confidence)->method;
    return share;
}

// A gap is one spacing however many seeds are missed in it, so gaps come independently where their
// starts do.
Estimate SpacingTally::gaps_per_spacing(Confidence confidence) const {
    auto share = *statistics::share_estimate(gaps(counts_), counts_.spacings(), misses_.crowding(),
                                             confidence);
    share.events = gaps(counts_);
    return share;
}

void SpacingTally::add_per_spacing(SpacingResult& result, Confidence confidence) const {
    if (counts_.spacings() == 0)
        return;
    const Estimate misses = gaps_per_spacing(confidence);
    const Estimate multiples = multiples_per_spacing(confidence);
    result.per_spacing = {
        multiples, misses,
        rest_of(multiples_, misses_, {multiples, misses, counts_.classes[1], counts_.spacings()})};
}

void SpacingTally::add_iso(SpacingResult& result, Confidence confidence) const {
    if (counts_.defined()) {
        result.iso = {multiples_index(confidence), misses_index(confidence), std::nullopt};
        if (result.iso.multiples && result.iso.misses)
            result.iso.quality_of_feed = rest_of(multiples_, misses_,
                                                 {*result.iso.multiples, *result.iso.misses,
                                                  counts_.singles(), counts_.intervals()});
        return;
    }
    result.notes.emplace_back(
        counts_.spacings() == 0
            ? "Spacing indices are not defined: there is no spacing."
            : fmt::format("ISO spacing indices are not defined: n1 = {}, N' = {} (most spacings "
                          "are multiples).",
                          counts_.singles(), counts_.intervals()));
}

SpacingParts SpacingTally::parts(Confidence confidence) const {
    const std::int64_t n = counts_.spacings();
    const std::int64_t kept = n - counts_.multiples();
    const auto size = static_cast<long double>(n);
    const auto sum = static_cast<long double>(places_);
    return {.reference_um = reference_um_,
            .spacings = n,
            .misses = {.entries = places_,
                       .hits = places_ - kept,
                       .rows = gaps(counts_),
                       .begins_in_row = gaps(counts_) == kept},
            .crowding = misses_.crowding(),
            .multiples = multiples_among(n, confidence),
            .place_variance = n < 2
                                  ? 0.0
                                  : static_cast<double>((static_cast<long double>(places_squared_) -
                                                         sum * sum / size) /
                                                        (size - 1.0L)),
            .residual_mean_um = residuals_.mean_estimate(confidence),
            .residual_sd_um = residuals_.sd_estimate(confidence),
            .mean_um = *all_.mean(),
            .sd_um = all_.sample_sd().value_or(0.0)};
}

// As a part of a sum: Jeffreys' where multiples are isolated.
Estimate SpacingTally::multiples_among(std::int64_t spacings, Confidence confidence) const {
    Estimate share = multiples_per_spacing(confidence);
    if (multiples_.rows().isolated() && multiples_.crowding() <= 1.0)
        share.interval = statistics::jeffreys(counts_.multiples(), spacings, confidence);
    return share;
}

void SpacingTally::add_spread(SpacingResult& result, Confidence confidence) const {
    if (counts_.spacings() == 0)
        return;
    const SpacingParts all = parts(confidence);
    result.mean_mm = scaled(mean_of_spacings(all, confidence), 1.0 / um_per_mm);
    if (counts_.spacings() >= 2)
        result.sd_mm = scaled(sd_of_spacings(all, confidence), 1.0 / um_per_mm);
}

// Only single spacings can lie in the band of CP3, where the seeds stand far enough apart.
bool SpacingTally::band_is_single() const {
    return 2 * cp3_half_band_um < reference_um_;
}

Estimate SpacingTally::share_in_band(Confidence confidence) const {
    const auto inside = in_band_.share(confidence);
    const std::int64_t n = counts_.spacings();
    if (!band_is_single())
        return *inside;
    Estimate share{.value = static_cast<double>(in_band_.rows().hits) / static_cast<double>(n),
                   .interval = {},
                   .confidence = confidence,
                   .method = "single spacings' share times the share of those in the band"};
    const Estimate singles = rest_of(
        multiples_, misses_,
        {multiples_per_spacing(confidence), gaps_per_spacing(confidence), counts_.classes[1], n});
    const auto sum = multiples_.is_doubtful() || misses_.is_doubtful()
                         ? statistics::Sum::in_full
                         : statistics::Sum::in_quadrature;
    share.interval = inside ? statistics::product_of(singles, *inside, sum) : *singles.interval;
    return share;
}

void SpacingTally::add_cp3(SpacingResult& result, Confidence confidence) const {
    const auto fullest = fine_.fullest_band(2 * cp3_half_band_um);
    if (!fullest)
        return;
    result.cp3_about_reference = {.inside = in_band_.rows().hits,
                                  .share = share_in_band(confidence),
                                  .centre_mm = static_cast<double>(reference_um_) / um_per_mm};
    result.cp3_fullest_band = {
        .inside = fullest->count,
        .share = Estimate{.value = static_cast<double>(fullest->count) /
                                   static_cast<double>(counts_.spacings()),
                          .confidence = confidence,
                          .method = "share of the spacings",
                          .no_interval = statistics::NoInterval::chosen_by_data},
        .centre_mm = static_cast<double>(fullest->low_um + cp3_half_band_um) / um_per_mm};
}

// Fourth power about the mean over the squared variance, of the single spacings.
double SpacingTally::kurtosis_of_singles() const {
    const double mean = singles_.mean().value_or(0.0);
    const double variance = singles_.sample_variance().value_or(0.0);
    double fourth = 0.0;
    fine_.for_each([&](std::int64_t spacing_um, std::int64_t times) {
        if (spacing_class(spacing_um, reference_um_) != 1)
            return;
        const double apart = static_cast<double>(spacing_um) - mean;
        fourth += apart * apart * apart * apart * static_cast<double>(times);
    });
    return fourth / (static_cast<double>(singles_.count()) * variance * variance);
}

// Neighbouring spacings share a landing: of independent places they correlate by −½, and with κ the
// kurtosis of the spacings s² varies as that of independent values of kurtosis 2κ − 2 (a linear
// process: excess of the places' own steps, twice that of the spacings, and 1.5 times 2). The
// limits are those of normal places, farther away on the log scale by the square root of how much
// more s² varies: chi-square at the few degrees that one far spacing leaves would have no end.
std::optional<Estimate> SpacingTally::precision(Confidence confidence) const {
    const auto sd = singles_.sample_sd();
    if (!sd)
        return std::nullopt;
    Estimate estimate{
        .value = *sd, .confidence = confidence, .method = "sample standard deviation"};
    constexpr double normal = 4.0; // 2·3 − 2
    const auto dependence = singles_.dependence();
    if (*sd == 0.0)
        estimate.no_interval = statistics::NoInterval::all_equal;
    else if (!dependence)
        estimate.no_interval = statistics::NoInterval::few_values;
    else if (const auto factors =
                 statistics::variance_factors(*dependence, {.kurtosis = normal}, confidence);
             !factors.interval)
        estimate.no_interval = factors.no_interval;
    else {
        const double varies = (2.0 * kurtosis_of_singles() - 3.0) / (normal - 1.0);
        const double half_power = std::sqrt(std::max(1.0, varies)) / 2.0;
        estimate.interval = Interval{*sd * std::pow(factors.interval->low, half_power),
                                     *sd * std::pow(factors.interval->high, half_power)};
        estimate.method += ", chi-square for places that neighbours share, correlation integrated "
                           "out, on the log scale as far as the kurtosis says";
    }
    return scaled(std::move(estimate), 1.0 / static_cast<double>(reference_um_));
}

SpacingResult SpacingTally::result(Confidence confidence) const {
    SpacingResult result;
    result.reference_um = reference_um_;
    result.counts = counts_;
    result.misses_independence = misses_.independence();
    result.multiples_independence = multiples_.independence();
    add_iso(result, confidence);
    add_per_spacing(result, confidence);
    result.precision = precision(confidence);
    if (!result.precision)
        result.notes.push_back(
            fmt::format("Precision C is not defined (n'2 = {}).", counts_.classes[1]));
    add_spread(result, confidence);
    result.histogram = histogram_;
    result.beyond_histogram = beyond_;
    add_cp3(result, confidence);
    return result;
}

} // namespace dropledger::measures
