#include "analysis/statistics/independence.hpp"

#include "analysis/base/result.hpp"
#include "tests/analysis/statistics/published.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string_view>

using namespace dropledger;
using namespace dropledger::statistics;

// NIST e-Handbook 1.3.5.13 on LEW.DAT about the median -162: published Z = 2.6938 (from memory);
// data seen, recomputed 2.693782591.
TEST(RunsTest, ReproducesTheHandbookExample) {
    RunCounter counter;
    for (const double value : dropledger::testing::published_column("nist-lew"))
        counter.add(value > -162.0);
    EXPECT_EQ(counter.counts().first, 100);
    EXPECT_EQ(counter.counts().second, 100);
    EXPECT_EQ(counter.counts().runs, 120);
    const auto test = runs_test(counter.counts());
    EXPECT_NEAR(test->expected, 101.0, 1e-12);
    EXPECT_NEAR(test->sd, 7.05327893, 0.5e-8);
    EXPECT_NEAR(test->z, 2.6938, 0.5e-4);
    EXPECT_NEAR(test->p, 0.00706462, 0.5e-8);
}

// Swed & Eisenhart 1943, seats at a lunch counter; seen, recomputed. Exact 252/4368.
TEST(RunsTest, ReproducesTheLunchCounter) {
    RunCounter counter;
    for (const char seat : std::string_view{"EOEEOEEEOEEEOEOE"})
        counter.add(seat == 'O');
    const auto test = runs_test(counter.counts());
    EXPECT_EQ(counter.counts().runs, 11);
    EXPECT_NEAR(test->p_corrected / 2.0, 0.05483417, 0.5e-8);
    EXPECT_NEAR(*test->exact_p_many, 252.0 / 4368.0, 1e-12);
}

// Swed & Eisenhart's table for 5 and 5; recomputed to six digits.
TEST(RunsTest, HasTheExactLawOfSmallSamples) {
    const double table[] = {0.007937, 0.039683, 0.166667, 0.357143, 0.642857,
                            0.833333, 0.960317, 0.992063, 1.0};
    for (std::int64_t runs = 2; runs <= 10; ++runs)
        EXPECT_NEAR(runs_cdf({5, 5, runs}), table[runs - 2], 0.5e-6) << runs;
}

// 1×5, 2×6, 3×8 cut at the mean (11 below, 8 above, 2 runs) and at the median (≥ 2: 14, below: 5);
// statsmodels' own test file, seen.
TEST(RunsTest, AgreesWithAPublishedProgramsExamples) {
    const auto mean_cut = runs_test({8, 11, 2});
    EXPECT_NEAR(mean_cut->z, -4.007095978613213, 1e-12);
    EXPECT_NEAR(mean_cut->p, 6.146988816717466e-05, 1e-15);
    const auto median_cut = runs_test({14, 5, 2});
    EXPECT_NEAR(median_cut->z, -3.944254410803499, 1e-12);
    EXPECT_NEAR(median_cut->p, 8.004864125547193e-05, 1e-15);
}

TEST(RunsTest, IsUndefinedWhereOnlyOneKindOccurs) {
    EXPECT_FALSE(runs_test({0, 12, 1}));
    EXPECT_FALSE(runs_test({12, 0, 1}));
    EXPECT_FALSE(runs_test({1, 1, 2}));
    EXPECT_FALSE(runs_test({5000, 5000, 5000})->exact_p_few);
    EXPECT_THROW(static_cast<void>(runs_test({3, 3, 9})), BrokenInvariant);
}

// Constructed by hand: blocks of 10 with 0, 2, 4 hits: share 0.2, chi-square 8/1.6 = 5 on 2 df.
TEST(BlockVariance, ComparesWithTheBinomial) {
    const auto test = block_variance_test({.blocks = 3, .length = 10, .sum = 6, .sum_squares = 20});
    EXPECT_DOUBLE_EQ(test->share, 0.2);
    EXPECT_NEAR(test->chi_squared, 5.0, 1e-12);
    EXPECT_NEAR(test->inflation, 2.5, 1e-12);
    EXPECT_NEAR(test->p_clustered, std::exp(-2.5), 1e-12); // chi-square of 2 df is exponential
    EXPECT_NEAR(test->p_even, 1.0 - std::exp(-2.5), 1e-12);
    const auto even = block_variance_test({.blocks = 4, .length = 10, .sum = 8, .sum_squares = 16});
    EXPECT_EQ(even->inflation, 0.0);
    EXPECT_FALSE(block_variance_test({.blocks = 1, .length = 10, .sum = 2, .sum_squares = 4}));
    EXPECT_FALSE(block_variance_test({.blocks = 5, .length = 10, .sum = 0, .sum_squares = 0}));
    EXPECT_FALSE(block_variance_test({.blocks = 2, .length = 10, .sum = 20, .sum_squares = 200}));
}
