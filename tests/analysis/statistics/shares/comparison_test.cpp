#include "analysis/statistics/shares/comparison.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

// Fisher 1935, the lady tasting tea: 3 of 4 right, two-sided 34/70; from memory, exact by hand.
TEST(Comparison, ReproducesTheTeaTasting) {
    EXPECT_NEAR(*fisher_exact_p({3, 4}, {1, 4}), 34.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({4, 4}, {0, 4}), 2.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({0, 10}, {0, 99}), 1.0, 1e-12);
    EXPECT_FALSE(fisher_exact_p({0, 0}, {3, 9}));
}

TEST(Comparison, SeesLessEvidenceInClusteredEntries) {
    const double p = *fisher_exact_p({45, 500}, {31, 1500});
    EXPECT_LT(p, 1e-6);
    EXPECT_GT(*fisher_exact_p({45, 500}, {31, 1500}, 10.0), p);
    EXPECT_EQ(*fisher_exact_p({45, 500}, {31, 1500}, 0.5), p);
}
