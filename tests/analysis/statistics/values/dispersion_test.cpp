#include "analysis/statistics/values/dispersion.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

struct Row {
    const char* source;
    std::vector<std::int64_t> frequency; // of 0, 1, 2, …
    double mean, variance, index, cv, chi_squared, p;
};

CountSums sums_of(const std::vector<std::int64_t>& frequency) {
    CountSums sums;
    for (std::size_t value = 0; value < frequency.size(); ++value) {
        const auto count = static_cast<std::int64_t>(value);
        sums.n += frequency[value];
        sums.sum += count * frequency[value];
        sums.sum_squares += count * count * frequency[value];
    }
    return sums;
}

} // namespace

// Counts published as named; statistics recomputed with scipy.
TEST(Dispersion, ReproducesPublishedCountTables) {
    const Row rows[] = {
        {"Rutherford & Geiger 1910 (data seen)",
         {57, 203, 383, 525, 532, 408, 273, 139, 45, 27, 10, 4, 0, 1, 1},
         3.871549080,
         3.696190618,
         0.954705866,
         0.496583644,
         2488.918194,
         0.950671},
        {"Bortkiewicz 1898 (data from memory)",
         {109, 65, 22, 3, 1},
         0.61,
         0.610954774,
         1.001565203,
         1.281370426,
         199.311475,
         0.480450},
        {"Student 1907, dilution 1 (data from memory)",
         {213, 128, 37, 18, 3, 1},
         0.6825,
         0.813728070,
         1.192275561,
         1.321712487,
         475.717949,
         0.0049084},
        {"Student 1907, dilution 4 (data from memory)",
         {0, 20, 43, 53, 86, 70, 54, 37, 18, 10, 5, 2, 2},
         4.68,
         4.468771930,
         0.954865797,
         0.451698077,
         380.991453,
         0.733573},
    };
    for (const Row& row : rows) {
        const auto found = index_of_dispersion(sums_of(row.frequency));
        ASSERT_TRUE(found) << row.source;
        EXPECT_NEAR(found->mean, row.mean, 0.5e-9) << row.source;
        EXPECT_NEAR(found->variance, row.variance, 0.5e-9) << row.source;
        EXPECT_NEAR(found->index, row.index, 0.5e-9) << row.source;
        EXPECT_NEAR(found->cv, row.cv, 0.5e-9) << row.source;
        EXPECT_NEAR(found->chi_squared, row.chi_squared, 0.5e-6) << row.source;
        EXPECT_NEAR(found->p_clustered, row.p, 0.5e-6) << row.source;
        EXPECT_NEAR(found->p_even, 1.0 - row.p, 0.5e-6) << row.source;
    }
}

namespace {
const VarianceFactors a_tenth{.interval = Interval{0.9, 1.1}, .no_interval = std::nullopt};
} // namespace

TEST(Dispersion, TakesItsLimitsFromTheVariances) {
    const CountSums sums = sums_of({109, 65, 22, 3, 1});
    const auto found = dispersion_estimates(sums, a_tenth, a_tenth, Confidence{0.95});
    EXPECT_NEAR(found->index.interval->low, 0.9 * found->index.value, 1e-12);
    EXPECT_NEAR(found->index.interval->high, 1.1 * found->index.value, 1e-12);
    EXPECT_NEAR(found->cv.interval->high, std::sqrt(1.1) * found->cv.value, 1e-12);
}

// A regular line whose seeds lie right at the segments' edges counts 9, 10 or 11 by chance; the
// same line moved by half a spacing counts 10 always.
TEST(Dispersion, AllowsForTheEdgesOfSegmentsInAnEvenLine) {
    const CountSums always_ten{.n = 200, .sum = 2000, .sum_squares = 20000};
    const auto found = dispersion_estimates(always_ten, {}, {}, Confidence{0.95});
    EXPECT_EQ(found->index.value, 0.0);
    EXPECT_EQ(found->index.interval->low, 0.0);
    EXPECT_NEAR(found->index.interval->high, 0.05, 1e-12); // ½ seed² over 10
    EXPECT_NEAR(found->cv.interval->high, std::sqrt(0.5) / 10.0, 1e-12);
}

TEST(Dispersion, SaysWhyItHasNoInterval) {
    const VarianceFactors few{.interval = std::nullopt, .no_interval = NoInterval::few_values};
    const auto found =
        dispersion_estimates(sums_of({109, 65, 22, 3, 1}), few, few, Confidence{0.95});
    EXPECT_FALSE(found->index.interval);
    EXPECT_EQ(found->cv.no_interval, NoInterval::few_values);
    EXPECT_NE(found->cv.method.find("too few values"), std::string::npos);
}

TEST(Dispersion, IsUndefinedWithoutCounts) {
    EXPECT_FALSE(index_of_dispersion({.n = 1, .sum = 5, .sum_squares = 25}));
    EXPECT_FALSE(index_of_dispersion({.n = 9, .sum = 0, .sum_squares = 0}));
    EXPECT_FALSE(
        dispersion_estimates({.n = 0, .sum = 0, .sum_squares = 0}, {}, {}, Confidence{0.9}));
    EXPECT_EQ(index_of_dispersion({.n = 4, .sum = 8, .sum_squares = 16})->index, 0.0);
}
