#include "analysis/statistics/basics/distributions.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

using namespace dropledger::statistics;

// Textbook table values, from memory, recomputed; printed digits as shown.
TEST(Distributions, ReproducesTableValues) {
    EXPECT_NEAR(normal_quantile(0.975), 1.959964, 0.5e-6);
    EXPECT_NEAR(normal_sf(3.0), 0.0013498980, 0.5e-10);
    EXPECT_NEAR(student_t_quantile(0.975, 10), 2.228139, 0.5e-6);
    EXPECT_NEAR(chi_squared_quantile(0.01, 42), 23.650, 0.5e-3); // NIST 7.2.6.3
    EXPECT_NEAR(f_quantile(0.95, {3, 20}), 3.098391, 0.5e-6);
    EXPECT_NEAR(beta_quantile(0.975, {1, 10}), 0.308497, 0.5e-6); // 0 of 10
    // NIST 7.2.6.3: t(0.99; 42, delta 8.403695607) = 12.288335568; recomputed
    EXPECT_NEAR(noncentral_t_quantile(0.99, {42, 8.403695607}), 12.288335568, 1e-6);
    EXPECT_NEAR(poisson_cdf(2, 0.61), 0.976, 0.5e-3);
}

TEST(Distributions, TakesAnyIntegerForCounts) {
    const BinomialLaw law{10, 0.3};
    EXPECT_EQ(binomial_cdf(-1, law), 0.0);
    EXPECT_EQ(binomial_sf(-1, law), 1.0);
    EXPECT_EQ(binomial_cdf(10, law), 1.0);
    EXPECT_EQ(binomial_pmf(11, law), 0.0);
    EXPECT_EQ(binomial_pmf(0, {5, 0.0}), 1.0);
    EXPECT_EQ(binomial_pmf(5, {5, 1.0}), 1.0);
    EXPECT_EQ(binomial_cdf(3, {5, 1.0}), 0.0);
    EXPECT_EQ(poisson_pmf(0, 0.0), 1.0);
    EXPECT_THROW(static_cast<void>(binomial_cdf(1, {5, 1.5})), std::domain_error);
    EXPECT_TRUE(std::isinf(normal_quantile(1.0)));
}

TEST(Distributions, SumsToOneOverTheSupport) {
    double binomial = 0.0;
    double hypergeometric = 0.0;
    for (std::int64_t k = 0; k <= 40; ++k) {
        binomial += binomial_pmf(k, {40, 0.07});
        hypergeometric += hypergeometric_pmf(k, {200, 90, 40});
        EXPECT_NEAR(binomial_cdf(k, {40, 0.07}), binomial, 1e-12);
        EXPECT_NEAR(hypergeometric_cdf(k, {200, 90, 40}), hypergeometric, 1e-11);
        EXPECT_NEAR(hypergeometric_cdf(k, {200, 90, 40}) + hypergeometric_sf(k, {200, 90, 40}), 1.0,
                    1e-11);
    }
}

// Found by the cross-check against scipy: summed from the far end, the first mass underflowed and
// the rest with it.
TEST(Distributions, KeepsTheMassOfLargeLots) {
    EXPECT_NEAR(hypergeometric_cdf(956, {2785, 1937, 1377}), 0.4599754605658739, 1e-9);
    EXPECT_NEAR(hypergeometric_sf(956, {2785, 1937, 1377}), 0.5400245394341261, 1e-9);
    EXPECT_NEAR(hypergeometric_cdf(386, {2213, 1844, 475}), 0.09921133149109279, 1e-9);
}

TEST(Distributions, FindsTheSmallestCountOfAQuantile) {
    for (const double probability : {0.0, 0.025, 0.5, 0.975, 1.0}) {
        const std::int64_t k = binomial_quantile(probability, {73, 0.2});
        EXPECT_GE(binomial_cdf(k, {73, 0.2}), probability);
        EXPECT_TRUE(k == 0 || binomial_cdf(k - 1, {73, 0.2}) < probability);
    }
}
