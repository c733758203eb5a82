#include "analysis/statistics/basics/moments.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <boost/accumulators/accumulators.hpp>
#include <boost/accumulators/statistics/mean.hpp>
#include <boost/accumulators/statistics/stats.hpp>
#include <boost/accumulators/statistics/variance.hpp>

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

void Moments::add(double value) {
    ++count_;
    const double before = value - mean_;
    mean_ += before / static_cast<double>(count_);
    squares_ += before * (value - mean_);
}

std::optional<double> Moments::mean() const {
    return count_ == 0 ? std::nullopt : std::optional{mean_};
}

std::optional<double> Moments::sample_variance() const {
    return count_ < 2 ? std::nullopt : std::optional{squares_ / static_cast<double>(count_ - 1)};
}

std::optional<double> Moments::sample_sd() const {
    const auto variance = sample_variance();
    return variance ? std::optional{std::sqrt(*variance)} : std::nullopt;
}

Moments moments(std::span<const double> values) {
    Moments all;
    for (const double value : values)
        all.add(value);
    return all;
}

namespace {

namespace acc = boost::accumulators;
using Accumulator = acc::accumulator_set<double, acc::stats<acc::tag::mean, acc::tag::variance>>;

// Fed with differences from `centre`: an offset common to all values costs no digits (the library's
// own sums are of raw values).
Accumulator accumulated(std::span<const double> values, double centre) {
    Accumulator sums;
    for (const double value : values)
        sums(value - centre);
    return sums;
}

} // namespace

std::optional<double> mean(std::span<const double> values) {
    if (values.empty())
        return std::nullopt;
    return values.front() + acc::mean(accumulated(values, values.front()));
}

std::optional<double> sample_variance(std::span<const double> values) {
    if (values.size() < 2)
        return std::nullopt;
    const auto n = static_cast<double>(values.size());
    // The library divides by n.
    return acc::variance(accumulated(values, *mean(values))) * n / (n - 1.0);
}

std::optional<double> sample_sd(std::span<const double> values) {
    const auto variance = sample_variance(values);
    return variance ? std::optional{std::sqrt(*variance)} : std::nullopt;
}

} // namespace dropledger::statistics
