#include "analysis/measures/dependent_series.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::measures {

using statistics::Estimate;
using statistics::Interval;
using statistics::NoInterval;

std::optional<double> DependentSeries::mean() const {
    if (count_ == 0)
        return std::nullopt;
    return static_cast<double>(origin_) + static_cast<double>(sum_) / static_cast<double>(count_);
}

// (n·Σz² − (Σz)²)/n: exact in integers, the one rounding comes last.
long double DependentSeries::centred_squares() const {
    return static_cast<long double>(squares_ * count_ - sum_ * sum_) /
           static_cast<long double>(count_);
}

std::optional<double> DependentSeries::sample_variance() const {
    if (count_ < 2)
        return std::nullopt;
    return static_cast<double>(centred_squares() / static_cast<long double>(count_ - 1));
}

std::optional<double> DependentSeries::sample_sd() const {
    const auto variance = sample_variance();
    return variance ? std::optional{std::sqrt(*variance)} : std::nullopt;
}

std::optional<statistics::Dependence> DependentSeries::dependence() const {
    if (count_ < 2)
        return std::nullopt;
    return statistics::Dependence::of({.n = count_,
                                       .squares = static_cast<double>(centred_squares()),
                                       .scales = energies_.scales()});
}

namespace {

Estimate without_interval(double value, std::string_view what, NoInterval why,
                          Confidence confidence) {
    return {.value = value,
            .interval = std::nullopt,
            .confidence = confidence,
            .method = fmt::format("{}; {}", what, words(why)),
            .no_interval = why};
}

} // namespace

std::optional<Estimate> mean_of(const DependentSeries& series, std::string_view what,
                                Confidence confidence) {
    const auto mean = series.mean();
    if (!mean)
        return std::nullopt;
    if (const auto dependence = series.dependence())
        return statistics::mean_estimate(*mean, *dependence, what, confidence);
    if (series.count() < statistics::fewest_values || *series.sample_variance() > 0.0)
        return without_interval(*mean, what, NoInterval::few_values, confidence);
    return Estimate{.value = *mean,
                    .interval = Interval{*mean, *mean},
                    .confidence = confidence,
                    .method = fmt::format("{}, all values alike", what),
                    .no_interval = std::nullopt};
}

std::optional<Estimate> sd_of(const DependentSeries& series, double kurtosis,
                              Confidence confidence) {
    const auto sd = series.sample_sd();
    if (!sd)
        return std::nullopt;
    constexpr std::string_view what = "sample standard deviation";
    const auto dependence = series.dependence();
    if (!dependence)
        return without_interval(*sd, what, NoInterval::few_values, confidence);
    const auto factors =
        statistics::variance_factors(*dependence, {.kurtosis = kurtosis}, confidence);
    if (!factors.interval)
        return without_interval(*sd, what, *factors.no_interval, confidence);
    return Estimate{.value = *sd,
                    .interval = Interval{*sd * std::sqrt(factors.interval->low),
                                         *sd * std::sqrt(factors.interval->high)},
                    .confidence = confidence,
                    .method = fmt::format("{}, chi-square with degrees for the kurtosis seen, "
                                          "correlation of neighbours integrated out",
                                          what),
                    .no_interval = std::nullopt};
}

} // namespace dropledger::measures
