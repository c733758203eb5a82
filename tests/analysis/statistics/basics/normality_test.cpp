#include "analysis/statistics/basics/normality.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "tests/support/published.hpp"

#include <gtest/gtest.h>

using namespace dropledger::statistics;

// A perfect normal sample passes, the beam data of NIST's LEW.DAT (a U-shaped cycle) fail.
TEST(Normality, TellsNormalFromNot) {
    std::vector<double> normal;
    for (int i = 1; i <= 60; ++i)
        normal.push_back(5.0 + 2.0 * normal_quantile((i - 0.5) / 60.0));
    EXPECT_GT(anderson_darling(normal)->p, 0.9);
    EXPECT_LT(anderson_darling(dropledger::testing::published_column("nist-lew"))->p, 1e-6);
    EXPECT_FALSE(anderson_darling(std::vector<double>(20, 1.0)));
    EXPECT_FALSE(anderson_darling(std::vector<double>{1, 2, 3, 4, 5, 6, 7}));
}

// Stephens' critical values of the adjusted statistic: 0.752 at 5 %, 1.035 at 1 % (memory): p is
// continuous there.
TEST(Normality, ScalesWithoutEffect) {
    const auto values = dropledger::testing::published_column("nist-michelso");
    std::vector<double> moved;
    for (const double value : values)
        moved.push_back((value - 299.0) * 1000.0);
    EXPECT_NEAR(anderson_darling(values)->a_squared, anderson_darling(moved)->a_squared, 1e-8);
}
