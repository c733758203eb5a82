#include "analysis/statistics/shares/independence.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::statistics {

std::optional<BlockTest> block_variance_test(BlockSums sums) {
    const std::int64_t entries = sums.blocks * sums.length;
    if (sums.blocks < 2 || sums.sum <= 0 || sums.sum >= entries)
        return std::nullopt;
    const auto blocks = static_cast<long double>(sums.blocks);
    const auto sum = static_cast<long double>(sums.sum);
    const auto centred =
        static_cast<double>(static_cast<long double>(sums.sum_squares) - sum * sum / blocks);
    BlockTest out;
    out.share = static_cast<double>(sums.sum) / static_cast<double>(entries);
    out.degrees = static_cast<double>(sums.blocks - 1);
    out.chi_squared =
        std::max(0.0, centred) / (static_cast<double>(sums.length) * out.share * (1.0 - out.share));
    out.inflation = out.chi_squared / out.degrees;
    out.p_clustered = chi_squared_sf(out.chi_squared, out.degrees);
    out.p_even = chi_squared_cdf(out.chi_squared, out.degrees);
    return out;
}

} // namespace dropledger::statistics
