// Values of which a source gives only the number, the mean and the sample standard deviation.
#pragma once

#include "analysis/statistics/basics/moments.hpp"

#include <cmath>
#include <cstdint>

namespace dropledger::statistics {

// As many values on either side of the mean, equally far from it (and one on it where `count` is odd).
inline Moments summarised(std::int64_t count, double mean, double sample_sd) {
    const std::int64_t pairs = count / 2;
    const double aside = pairs == 0 ? 0.0
                                    : sample_sd * std::sqrt(static_cast<double>(count - 1) /
                                                            static_cast<double>(2 * pairs));
    Moments all;
    for (std::int64_t i = 0; i < pairs; ++i) {
        all.add(mean - aside);
        all.add(mean + aside);
    }
    if (count % 2 == 1)
        all.add(mean);
    return all;
}

} // namespace dropledger::statistics
