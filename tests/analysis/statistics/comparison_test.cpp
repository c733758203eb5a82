#include "analysis/statistics/comparison.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger;
using namespace dropledger::statistics;

// Fisher 1935, the lady tasting tea: 3 of 4 right, two-sided 34/70; from memory, exact by hand.
TEST(Comparison, ReproducesTheTeaTasting) {
    EXPECT_NEAR(*fisher_exact_p({3, 4}, {1, 4}), 34.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({4, 4}, {0, 4}), 2.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({0, 10}, {0, 99}), 1.0, 1e-12);
    EXPECT_FALSE(fisher_exact_p({0, 0}, {3, 9}));
}

// Constructed by hand: variances 2.5 and 10 of 5 each: t = -3/sqrt(2.5), df 2.5²/(0.25/4 + 4/4).
TEST(Comparison, WelchUsesBothSpreads) {
    const double a[] = {1, 2, 3, 4, 5};
    const double b[] = {2, 4, 6, 8, 10};
    const auto test = welch_test(moments(a), moments(b));
    EXPECT_NEAR(test->t, -3.0 / std::sqrt(2.5), 1e-12);
    EXPECT_NEAR(test->degrees, 6.25 / 1.0625, 1e-12);
    const double flat[] = {1, 1};
    EXPECT_FALSE(welch_test(moments(flat), moments(flat)));
    EXPECT_FALSE(welch_test(moments({}), moments(b)));
}

TEST(Comparison, SeesLessEvidenceInClusteredEntries) {
    const double p = *fisher_exact_p({45, 500}, {31, 1500});
    EXPECT_LT(p, 1e-6);
    EXPECT_GT(*fisher_exact_p({45, 500}, {31, 1500}, 10.0), p);
    EXPECT_EQ(*fisher_exact_p({45, 500}, {31, 1500}, 0.5), p);
}
