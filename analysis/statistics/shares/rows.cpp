#include "analysis/statistics/shares/rows.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::statistics {

RowCounts RowCounts::others() const {
    if (entries == 0)
        return {};
    return {.entries = entries,
            .hits = entries - hits,
            .rows = rows + 1 - (begins_in_row ? 1 : 0) - (ends_in_row ? 1 : 0),
            .begins_in_row = !begins_in_row,
            .ends_in_row = !ends_in_row};
}

std::int64_t RowCounts::events() const {
    return rows + (hits - rows) / long_row;
}

double RowsTest::two_sided() const {
    return std::min(1.0, 2.0 * std::min(p_few, p_many));
}

std::optional<RowsTest> rows_test(const RowCounts& counts) {
    if (counts.hits < 2 || counts.hits >= counts.entries)
        return std::nullopt;
    const std::int64_t following = counts.hits - counts.rows;
    if (counts.hits <= exact_hits) {
        const HypergeometricLaw law{
            .lot = counts.entries, .nonconforming = counts.hits - 1, .sample = counts.hits};
        return RowsTest{.p_few = hypergeometric_sf(following - 1, law),
                        .p_many = hypergeometric_cdf(following, law)};
    }
    const auto n = static_cast<double>(counts.entries);
    const auto x = static_cast<double>(counts.hits);
    const double mean = x * (x - 1.0) / n;
    const double variance = mean * (n - x) * (n - x + 1.0) / (n * (n - 1.0));
    const double apart = static_cast<double>(following) - mean;
    return RowsTest{.p_few = normal_sf((apart - 0.5) / std::sqrt(variance)),
                    .p_many = normal_cdf((apart + 0.5) / std::sqrt(variance))};
}

} // namespace dropledger::statistics
