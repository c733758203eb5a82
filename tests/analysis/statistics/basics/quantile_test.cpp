#include "analysis/statistics/basics/quantile.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

// Median at 95 %: textbook table of sign-test limits (n 6: 1 and 6; n 10: 2 and 9; n 20: 6 and 15;
// n 50: 18 and 33); from memory, recomputed.
TEST(Quantile, HasTheTextbookRanksForAMedian) {
    struct Row {
        std::int64_t n, low, high;
    };
    for (const Row row : {Row{6, 1, 6}, Row{10, 2, 9}, Row{20, 6, 15}, Row{50, 18, 33}}) {
        const auto ranks = quantile_ranks(row.n, Share{0.5}, Confidence{0.95});
        ASSERT_TRUE(ranks) << row.n;
        EXPECT_EQ(ranks->low, row.low) << row.n;
        EXPECT_EQ(ranks->high, row.high) << row.n;
    }
    EXPECT_FALSE(quantile_ranks(5, Share{0.5}, Confidence{0.95}));
    EXPECT_FALSE(quantile_ranks(0, Share{0.5}, Confidence{0.95}));
}

TEST(Quantile, RanksHoldTheirTailsAndAreTheTightestThatDo) {
    for (const double q : {0.05, 0.5, 0.9, 0.95})
        for (const std::int64_t n : {80, 250, 2000, 50000}) {
            const auto ranks = quantile_ranks(n, Share{q}, Confidence{0.95});
            ASSERT_TRUE(ranks) << n << " " << q;
            const BinomialLaw below{n, q};
            EXPECT_LE(binomial_cdf(ranks->low - 1, below), 0.025);
            EXPECT_GT(binomial_cdf(ranks->low, below), 0.025);
            EXPECT_LE(binomial_sf(ranks->high - 1, below), 0.025);
            EXPECT_GT(binomial_sf(ranks->high - 2, below), 0.025);
        }
    EXPECT_FALSE(quantile_ranks(60, Share{0.95}, Confidence{0.95}));
}
