#include "analysis/statistics/values/tolerance.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

// NIST e-Handbook 7.2.6.3: n 43, content 0.90, confidence 0.99: 2.217 and 1.8752 seen; more digits
// recomputed.
TEST(Tolerance, ReproducesTheHandbookFactors) {
    const ToleranceRequest request{43, Share{0.90}, Confidence{0.99}};
    EXPECT_NEAR(two_sided_factor_howe(request), 2.217, 0.5e-3);
    EXPECT_NEAR(two_sided_factor_howe(request), 2.217315897, 0.5e-9);
    EXPECT_NEAR(two_sided_factor(request), 2.222825174, 0.5e-8);
    EXPECT_NEAR(one_sided_factor_nist(request), 1.8752, 0.5e-4);
    EXPECT_NEAR(one_sided_factor_nist(request), 1.875189581, 0.5e-9);
    EXPECT_NEAR(one_sided_factor(request), 1.873953606, 0.5e-8);
}

// Recomputed, 95 % confidence: two-sided content 0.90, 0.95, 0.99, Howe 0.95, one-sided 0.95, 0.99.
TEST(Tolerance, ReproducesTheExactTable) {
    const double table[][7] = {{5, 4.2906, 5.0769, 6.5980, 5.0935, 4.2027, 5.7411},
                               {10, 2.8563, 3.3934, 4.4369, 3.3819, 2.9110, 3.9811},
                               {20, 2.3188, 2.7603, 3.6210, 2.7523, 2.3960, 3.2952},
                               {30, 2.1451, 2.5549, 3.3546, 2.5496, 2.2198, 3.0639},
                               {50, 1.9990, 2.3816, 3.1288, 2.3788, 2.0650, 2.8624},
                               {100, 1.8748, 2.2339, 2.9355, 2.2328, 1.9265, 2.6840}};
    for (const auto& row : table) {
        const auto at = [&](double content) {
            return ToleranceRequest{static_cast<std::int64_t>(row[0]), Share{content},
                                    Confidence{0.95}};
        };
        EXPECT_NEAR(two_sided_factor(at(0.90)), row[1], 0.5e-4) << row[0];
        EXPECT_NEAR(two_sided_factor(at(0.95)), row[2], 0.5e-4) << row[0];
        EXPECT_NEAR(two_sided_factor(at(0.99)), row[3], 0.5e-4) << row[0];
        EXPECT_NEAR(two_sided_factor_howe(at(0.95)), row[4], 0.5e-4) << row[0];
        EXPECT_NEAR(one_sided_factor(at(0.95)), row[5], 0.5e-4) << row[0];
        EXPECT_NEAR(one_sided_factor(at(0.99)), row[6], 0.5e-4) << row[0];
    }
    EXPECT_THROW(static_cast<void>(two_sided_factor({1, Share{0.9}, Confidence{0.9}})),
                 BrokenInvariant);
}

// Wilks: 93 values for the whole range at 95/95 (memory).
TEST(Tolerance, NeedsNinetyThreeValuesWithoutADistribution) {
    EXPECT_FALSE(tolerance_ranks({92, Share{0.95}, Confidence{0.95}}));
    const auto ranks = tolerance_ranks({93, Share{0.95}, Confidence{0.95}});
    ASSERT_TRUE(ranks);
    EXPECT_EQ(ranks->low, 1);
    EXPECT_EQ(ranks->high, 93);
    const auto many = tolerance_ranks({1000, Share{0.95}, Confidence{0.95}});
    EXPECT_GT(many->low, 10);
    EXPECT_LT(many->high, 990);
}

// 59 and 93 at 95/95, 299 and 473 at 99/95, 22 one-sided at 90/90 (Wilks; memory): n one-sided is
// the smallest with 1 - P^n >= confidence.
TEST(Tolerance, KnowsTheSmallestSampleWithoutADistribution) {
    const auto usual = values_needed(Share{0.95}, Confidence{0.95});
    EXPECT_EQ(usual.one_sided, 59);
    EXPECT_EQ(usual.two_sided, 93);
    const auto strict = values_needed(Share{0.99}, Confidence{0.95});
    EXPECT_EQ(strict.one_sided, 299);
    EXPECT_EQ(strict.two_sided, 473);
    EXPECT_EQ(values_needed(Share{0.90}, Confidence{0.90}).one_sided, 22);
    for (const double content : {0.5, 0.8, 0.9, 0.97}) {
        const auto needed = values_needed(Share{content}, Confidence{0.9});
        const auto ranks = [&](std::int64_t n) {
            return tolerance_ranks({n, Share{content}, Confidence{0.9}});
        };
        EXPECT_TRUE(ranks(needed.two_sided));
        EXPECT_FALSE(ranks(needed.two_sided - 1));
        EXPECT_EQ(tolerance_rank_one_sided({needed.one_sided, Share{content}, Confidence{0.9}}), 1);
        EXPECT_FALSE(
            tolerance_rank_one_sided({needed.one_sided - 1, Share{content}, Confidence{0.9}}));
    }
}
