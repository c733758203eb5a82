// Mean, sample variance (divisor n - 1) and their intervals.
//
// Assumes: values near their centre where digits matter: subtract positions and times as integers
// first.
// Undefined when: mean of nothing, variance of fewer than two values: std::nullopt.
// Source: Welford 1962; merging of two parts: Chan, Golub & LeVeque 1983.
#pragma once

#include "analysis/base/units.hpp"
#include "analysis/statistics/basics/estimate.hpp"

#include <cstdint>
#include <optional>
#include <span>

namespace dropledger::statistics {

// Count, mean and centred sum of squares of a stream, in constant memory.
class Moments {
public:
    void add(double value);

    [[nodiscard]] std::int64_t count() const { return count_; }
    [[nodiscard]] std::optional<double> mean() const;
    [[nodiscard]] std::optional<double> sample_variance() const;
    [[nodiscard]] std::optional<double> sample_sd() const;

private:
    std::int64_t count_ = 0;
    double mean_ = 0.0;
    double squares_ = 0.0; // sum of squared deviations from the mean
};

[[nodiscard]] Moments moments(std::span<const double> values);
// Two passes: the most exact there is for values in memory.
[[nodiscard]] std::optional<double> mean(std::span<const double> values);
[[nodiscard]] std::optional<double> sample_variance(std::span<const double> values);
[[nodiscard]] std::optional<double> sample_sd(std::span<const double> values);

} // namespace dropledger::statistics
