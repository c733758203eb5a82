#include "analysis/statistics/bootstrap.hpp"

#include "analysis/statistics/moments.hpp"
#include "analysis/statistics/quantile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

namespace dropledger::statistics {

namespace {

// Uniform on 0 … below - 1, the same on every standard library.
std::size_t draw(std::mt19937_64& random, std::size_t below) {
    const std::uint64_t range = below;
    const std::uint64_t usable = std::mt19937_64::max() - std::mt19937_64::max() % range;
    std::uint64_t number = random();
    while (number >= usable)
        number = random();
    return static_cast<std::size_t>(number % range);
}

// Autocovariances of lags 0 … longest, divisor n.
std::vector<double> autocovariances(std::span<const double> values, std::size_t longest) {
    const double centre = *mean(values);
    std::vector<double> out(longest + 1);
    for (std::size_t lag = 0; lag <= longest; ++lag) {
        for (std::size_t i = lag; i < values.size(); ++i)
            out[lag] += (values[i] - centre) * (values[i - lag] - centre);
        out[lag] /= static_cast<double>(values.size());
    }
    return out;
}

// [PW2004] 3.2: the lag after which so many correlations in a row are insignificant.
std::size_t last_significant_lag(std::span<const double> covariance, std::size_t n) {
    const double tenth_log = std::log10(static_cast<double>(n));
    const double bar = 2.0 * std::sqrt(tenth_log / static_cast<double>(n)) * covariance[0];
    const std::size_t in_a_row =
        std::max<std::size_t>(5, static_cast<std::size_t>(std::sqrt(tenth_log)));
    std::size_t quiet = 0;
    for (std::size_t lag = 1; lag < covariance.size(); ++lag) {
        quiet = std::abs(covariance[lag]) < bar ? quiet + 1 : 0;
        if (quiet == in_a_row)
            return lag - in_a_row;
    }
    return covariance.size() - 1;
}

double flat_top(double x) {
    return x <= 0.5 ? 1.0 : 2.0 * (1.0 - x);
}

double optimal_length(std::span<const double> values) {
    const std::size_t n = values.size();
    const std::size_t longest =
        std::min(n - 1, static_cast<std::size_t>(std::ceil(std::sqrt(static_cast<double>(n)))) + 5);
    const auto covariance = autocovariances(values, longest);
    if (covariance[0] <= 0.0)
        return 1.0;
    const std::size_t reach =
        std::min(longest, 2 * std::max<std::size_t>(1, last_significant_lag(covariance, n)));
    double spectrum = covariance[0];
    double weighted = 0.0;
    for (std::size_t lag = 1; lag <= reach; ++lag) {
        const double k = static_cast<double>(lag);
        const double term = 2.0 * flat_top(k / static_cast<double>(reach)) * covariance[lag];
        spectrum += term;
        weighted += k * term;
    }
    if (spectrum == 0.0)
        return 1.0;
    const double ratio = 2.0 * weighted * weighted / (4.0 / 3.0 * spectrum * spectrum);
    return std::cbrt(ratio * static_cast<double>(n));
}

std::vector<double> resampled(std::span<const double> values, std::size_t length,
                              std::mt19937_64& random) {
    std::vector<double> sample;
    sample.reserve(values.size() + length);
    while (sample.size() < values.size()) {
        const std::size_t start = draw(random, values.size() - length + 1);
        const std::size_t take = std::min(length, values.size() - sample.size());
        const auto block = values.subspan(start, take);
        sample.insert(sample.end(), block.begin(), block.end());
    }
    return sample;
}

} // namespace

std::size_t block_length(std::span<const double> values) {
    if (values.size() < 8)
        return 1;
    const double centre = *mean(values);
    std::vector<double> squares;
    squares.reserve(values.size());
    for (const double value : values)
        squares.push_back((value - centre) * (value - centre));
    const double asked = std::max(optimal_length(values), optimal_length(squares));
    const double most = std::floor(static_cast<double>(values.size()) / 4.0);
    return static_cast<std::size_t>(std::clamp(std::ceil(asked), 1.0, most));
}

std::optional<Estimate> block_bootstrap(std::span<const double> values, const Statistic& statistic,
                                        const BootstrapSettings& settings, Confidence confidence) {
    const auto here = values.size() < 4 ? std::nullopt : statistic(values);
    if (!here)
        return std::nullopt;
    const std::size_t length = std::clamp<std::size_t>(
        settings.block_length.value_or(block_length(values)), 1, values.size());
    std::mt19937_64 random{settings.seed};
    std::vector<double> replicates;
    for (std::size_t i = 0; i < settings.replicates; ++i)
        if (const auto one = statistic(resampled(values, length, random)))
            replicates.push_back(*one);
    Estimate out{.value = *here,
                 .interval = std::nullopt,
                 .confidence = confidence,
                 .method =
                     fmt::format("moving-block bootstrap, blocks of {}, {} replicates, seed {}",
                                 length, settings.replicates, settings.seed)};
    if (replicates.empty() || 2 * replicates.size() < settings.replicates)
        return out;
    std::sort(replicates.begin(), replicates.end());
    const double tail = confidence.each_tail();
    out.interval = Interval{.low = *sample_quantile(replicates, Share{tail}),
                            .high = *sample_quantile(replicates, Share{1.0 - tail})};
    return out;
}

} // namespace dropledger::statistics
