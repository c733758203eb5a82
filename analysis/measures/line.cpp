#include "analysis/measures/line.hpp"

#include "analysis/base/result.hpp"
#include "analysis/measures/entries.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr std::size_t picture_points = 2048;
constexpr std::int64_t longest_walk_um = 1'000'000'000;

Estimate mapped(Estimate estimate, double factor, double shift) {
    estimate.value = estimate.value * factor + shift;
    if (estimate.interval)
        estimate.interval = Interval{estimate.interval->low * factor + shift,
                                     estimate.interval->high * factor + shift};
    return estimate;
}

} // namespace

LineTally::LineTally(std::int64_t segment_um) : segment_um_(segment_um) {
    if (segment_um <= 0)
        throw BrokenInvariant("a line needs a segment length above 0");
}

void LineTally::add(std::int64_t position_um, std::uint32_t seeds) {
    seeds_ += seeds;
    if (!segment_start_um_) {
        segment_start_um_ = last_um_ = position_um;
        first_um_ = position_um;
        in_segment_ = 0;
    }
    const std::int64_t gap_um = position_um - last_um_;
    longest_gap_um_ = std::max(longest_gap_um_, gap_um);
    last_um_ = std::max(last_um_, position_um);
    if (gap_um > longest_walk_um) { // the line goes on here: no line is a kilometre of nothing
        segment_start_um_ = position_um;
        in_segment_ = 0;
    }
    while (position_um - *segment_start_um_ >= segment_um_) {
        close_segment();
        *segment_start_um_ += segment_um_;
    }
    in_segment_ += seeds;
}

void LineTally::close_segment() {
    ++sums_.n;
    sums_.sum += in_segment_;
    sums_.sum_squares += in_segment_ * in_segment_;
    counts_.add(in_segment_);
    const auto shown = std::min(static_cast<std::size_t>(in_segment_), greatest_count_shown);
    if (distribution_.size() <= shown)
        distribution_.resize(shown + 1, 0);
    ++distribution_[shown];
    add_to_picture();
    in_segment_ = 0;
}

void LineTally::add_to_picture() {
    point_seeds_ += in_segment_;
    if (++in_point_ < segments_per_point_)
        return;
    picture_.push_back(point_seeds_);
    in_point_ = point_seeds_ = 0;
    if (picture_.size() < picture_points)
        return;
    for (std::size_t i = 0; i < picture_points / 2; ++i)
        picture_[i] = picture_[2 * i] + picture_[2 * i + 1];
    picture_.resize(picture_points / 2);
    segments_per_point_ *= 2;
}

std::int64_t LineTally::span_um() const {
    return span_um_ + (first_um_ ? last_um_ - *first_um_ : 0);
}

LineTally LineTally::with_unsown(std::int64_t unsown_um) const {
    LineTally longer = *this;
    for (auto left = std::min(unsown_um, longest_walk_um) / segment_um_; left > 0; --left)
        longer.close_segment();
    return longer;
}

void LineTally::end_segment() {
    span_um_ = span_um();
    first_um_.reset();
    segment_start_um_.reset();
    in_segment_ = 0;
}

std::optional<Estimate> LineTally::mean_estimate(Confidence confidence) const {
    if (sums_.n < 2)
        return std::nullopt;
    auto estimate = mean_of(counts_, "mean of segments", confidence);
    if (auto& interval = estimate->interval) {
        const double at_an_end = 1.0 / static_cast<double>(sums_.n);
        interval->low = std::max(0.0, std::min(interval->low, estimate->value - at_an_end));
        interval->high = std::max(interval->high, estimate->value + at_an_end);
    }
    return estimate;
}

void LineTally::add_dispersion(LineResult& result, Confidence confidence) const {
    result.dispersion = statistics::index_of_dispersion(sums_);
    if (!result.dispersion)
        return;
    const double mean = result.dispersion->mean;
    const double sd = std::sqrt(result.dispersion->variance);
    double third = 0.0;
    double fourth = 0.0;
    for (std::size_t seeds = 0; seeds < distribution_.size(); ++seeds) {
        const double apart = static_cast<double>(seeds) - mean;
        const auto times = static_cast<double>(distribution_[seeds]);
        third += apart * apart * apart * times;
        fourth += apart * apart * apart * apart * times;
    }
    const auto n = static_cast<double>(sums_.n);
    const auto dependence = counts_.dependence();
    // What the mean in the denominator adds: cv² and the skewness, once for variance/mean, and as
    // for variance/mean² twice and four times for the coefficient of variation.
    const auto factors = [&](double squares, double skewness) -> statistics::VarianceFactors {
        if (!dependence)
            return {.interval = std::nullopt,
                    .no_interval = sums_.n < statistics::fewest_for_sd
                                       ? std::optional{statistics::NoInterval::few_values}
                                       : std::nullopt};
        const double cv = sd / mean;
        return statistics::variance_factors(
            *dependence,
            {.kurtosis = fourth / (n * sd * sd * sd * sd),
             .by_mean = squares * cv * cv - skewness * cv * third / (n * sd * sd * sd)},
            confidence);
    };
    if (auto both = statistics::dispersion_estimates(sums_, factors(1.0, 2.0), factors(4.0, 4.0),
                                                     confidence)) {
        result.dispersion_index = std::move(both->index);
        result.cv = std::move(both->cv);
    }
}

LineResult LineTally::result(std::optional<std::int64_t> rate_per_m_milli,
                             Confidence confidence) const {
    LineResult result;
    result.segment_um = segment_um_;
    result.segments = sums_.n;
    result.seeds = sums_.sum;
    result.total_seeds = seeds_;
    result.longest_gap_um = longest_gap_um_;
    result.count_distribution = distribution_;
    const double segment_m = static_cast<double>(segment_um_) / 1e6;
    if (const auto mean = mean_estimate(confidence)) {
        if (const auto dependence = counts_.dependence(); dependence && mean->interval)
            result.mean_law.emplace(*dependence);
        result.mean_per_m = mapped(*mean, 1.0 / segment_m, 0.0);
        if (rate_per_m_milli) {
            const double target = static_cast<double>(*rate_per_m_milli) / 1000.0;
            result.rate_error = mapped(*result.mean_per_m, 1.0 / target, -1.0);
        }
    }
    add_dispersion(result, confidence);
    result.metres_per_point = segment_m * static_cast<double>(segments_per_point_);
    for (const std::int64_t seeds : picture_)
        result.per_m_along.push_back(static_cast<double>(seeds) / result.metres_per_point);
    return result;
}

} // namespace dropledger::measures
