// A stream of whole numbers whose neighbours may hang together: mean and standard deviation with
// intervals that allow for it.
//
// Assumes: values come in the order of the run, within 2^38 of the origin.
// Units: the values' own.
// Undefined when: no value (mean), fewer than two (sd); no interval where statistics'
// dependent_intervals.hpp has none.
// How: exact integer sums and energies by scale; memory does not grow.
#pragma once

#include "analysis/base/wide.hpp"
#include "analysis/statistics/values/dependence.hpp"
#include "analysis/statistics/values/dependent_intervals.hpp"

#include <cstdint>
#include <optional>
#include <string_view>

namespace dropledger::measures {

class DependentSeries {
public:
    // Values are taken relative to `origin`, near which they should lie.
    explicit DependentSeries(std::int64_t origin = 0) : origin_(origin) {}

    void add(std::int64_t value) {
        const std::int64_t z = value - origin_;
        ++count_;
        sum_ += z;
        squares_ += Wide{z} * z;
        energies_.add(z);
    }

    [[nodiscard]] std::int64_t count() const { return count_; }
    [[nodiscard]] std::optional<double> mean() const;
    [[nodiscard]] std::optional<double> sample_variance() const;
    [[nodiscard]] std::optional<double> sample_sd() const;

    // Nothing where the values are too few or all alike.
    [[nodiscard]] std::optional<statistics::Dependence> dependence() const;

private:
    [[nodiscard]] long double centred_squares() const;

    std::int64_t origin_;
    std::int64_t count_ = 0;
    Wide sum_ = 0;
    Wide squares_ = 0;
    statistics::ScaleEnergies energies_;
};

// The mean with its interval. Values all alike, ten or more, leave no doubt.
[[nodiscard]] std::optional<statistics::Estimate>
mean_of(const DependentSeries& series, std::string_view what, Confidence confidence);
// The sample standard deviation with its interval; `kurtosis` about the median.
[[nodiscard]] std::optional<statistics::Estimate> sd_of(const DependentSeries& series,
                                                        double kurtosis, Confidence confidence);

} // namespace dropledger::measures
