#include "analysis/statistics/shares/independence.hpp"

#include "tests/support/published.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string_view>

using namespace dropledger;
using namespace dropledger::statistics;

// NIST e-Handbook 1.3.5.13 on LEW.DAT about the median -162: 120 runs (data seen).
TEST(RunCounter, CountsTheHandbookExample) {
    RunCounter counter;
    for (const double value : dropledger::testing::published_column("nist-lew"))
        counter.add(value > -162.0);
    EXPECT_EQ(counter.counts().first, 100);
    EXPECT_EQ(counter.counts().second, 100);
    EXPECT_EQ(counter.counts().runs, 120);
    EXPECT_EQ(counter.rows().rows, 60);
    EXPECT_NEAR(rows_test(counter.rows())->p_many, 0.005362092369914136, 1e-12); // scipy
}

// Swed & Eisenhart 1943, seats at a lunch counter; seen. None of the five sits beside another:
// C(12, 5) of C(16, 5) orders.
TEST(RunCounter, CountsTheLunchCounter) {
    RunCounter counter;
    for (const char seat : std::string_view{"EOEEOEEEOEEEOEOE"})
        counter.add(seat == 'O');
    EXPECT_EQ(counter.counts().runs, 11);
    EXPECT_TRUE(counter.rows().isolated());
    EXPECT_NEAR(rows_test(counter.rows())->p_many, 792.0 / 4368.0, 1e-12);
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
