#include "analysis/statistics/independence.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/distributions.hpp"
#include "analysis/statistics/moments.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace dropledger::statistics {

namespace {

// ln of the number of ways to cut `items` into `parts` parts, none empty.
double log_cuts(std::int64_t items, std::int64_t parts) {
    return log_choose(items - 1, parts - 1);
}

// P(R = runs)
double runs_pmf(RunCounts counts) {
    const std::int64_t half = counts.runs / 2;
    const double all = log_choose(counts.first + counts.second, counts.first);
    const auto ways = [&](std::int64_t first_parts, std::int64_t second_parts) {
        if (first_parts < 1 || second_parts < 1 || first_parts > counts.first ||
            second_parts > counts.second)
            return 0.0;
        return std::exp(log_cuts(counts.first, first_parts) +
                        log_cuts(counts.second, second_parts) - all);
    };
    if (counts.runs % 2 == 0)
        return 2.0 * ways(half, half);
    return ways(half + 1, half) + ways(half, half + 1);
}

double two_sided(double z) {
    return std::min(1.0, 2.0 * normal_sf(std::abs(z)));
}

} // namespace

double runs_cdf(RunCounts counts) {
    double total = 0.0;
    for (std::int64_t runs = 2; runs <= counts.runs; ++runs)
        total += runs_pmf({counts.first, counts.second, runs});
    return std::min(1.0, total);
}

std::optional<RunsTest> runs_test(RunCounts counts) {
    if (counts.first < 1 || counts.second < 1 || counts.first + counts.second < 3)
        return std::nullopt;
    if (counts.runs < 2 || counts.runs > 2 * std::min(counts.first, counts.second) + 1)
        throw BrokenInvariant("runs_test: impossible number of runs");
    const double n1 = static_cast<double>(counts.first);
    const double n2 = static_cast<double>(counts.second);
    const double n = n1 + n2;
    const double pairs = 2.0 * n1 * n2;
    RunsTest out;
    out.expected = pairs / n + 1.0;
    out.sd = std::sqrt(pairs * (pairs - n) / (n * n * (n - 1.0)));
    const double apart = static_cast<double>(counts.runs) - out.expected;
    if (out.sd > 0.0) {
        out.z = apart / out.sd;
        out.z_corrected = std::copysign(std::max(0.0, std::abs(apart) - 0.5), apart) / out.sd;
    }
    out.p = two_sided(out.z);
    out.p_corrected = two_sided(out.z_corrected);
    if (counts.first + counts.second <= exact_runs_limit) {
        out.exact_p_few = runs_cdf(counts);
        out.exact_p_many = 1.0 - runs_cdf({counts.first, counts.second, counts.runs - 1});
    }
    return out;
}

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

std::optional<double> autocorrelation(std::span<const double> values, std::size_t lag) {
    if (values.size() < 2 || lag >= values.size())
        return std::nullopt;
    const double centre = *mean(values);
    double squares = 0.0;
    double products = 0.0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        squares += (values[i] - centre) * (values[i] - centre);
        if (i >= lag)
            products += (values[i] - centre) * (values[i - lag] - centre);
    }
    return squares > 0.0 ? std::optional{products / squares} : std::nullopt;
}

} // namespace dropledger::statistics
