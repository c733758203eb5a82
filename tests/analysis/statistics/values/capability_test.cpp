#include "analysis/statistics/values/capability.hpp"
#include "tests/analysis/statistics/summarised.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

// NIST e-Handbook 6.1.6 (memory): limits 8 and 20, mean 16, s 2; intervals for n = 50 recomputed.
TEST(Capability, ReproducesTheHandbookExample) {
    const auto found = capability(summarised(50, 16.0, 2.0), {8.0, 20.0}, Confidence{0.95});
    ASSERT_TRUE(found && found->cp);
    EXPECT_NEAR(found->cp->value, 1.0, 1e-12);
    EXPECT_NEAR(*found->cpu, 0.6667, 0.5e-4);
    EXPECT_NEAR(*found->cpl, 1.3333, 0.5e-4);
    EXPECT_NEAR(found->cpk.value, 0.6667, 0.5e-4);
    EXPECT_NEAR(found->cp->interval->low, 0.802482, 0.5e-6);
    EXPECT_NEAR(found->cp->interval->high, 1.197126, 0.5e-6);
    // Recomputed around the rounded 0.6667, hence four decimals.
    EXPECT_NEAR(found->cpk.interval->low, 0.5056, 0.5e-4);
    EXPECT_NEAR(found->cpk.interval->high, 0.8278, 0.5e-4);
}

TEST(Capability, TakesOneLimitToo) {
    const auto values = summarised(50, 16.0, 2.0);
    const auto upper = capability(values, {std::nullopt, 20.0}, Confidence{0.95});
    EXPECT_FALSE(upper->cp);
    EXPECT_FALSE(upper->cpl);
    EXPECT_NEAR(upper->cpk.value, 2.0 / 3.0, 1e-12);
    EXPECT_NEAR(capability(values, {8.0, std::nullopt}, Confidence{0.95})->cpk.value, 4.0 / 3.0,
                1e-12);
    EXPECT_FALSE(capability(values, {std::nullopt, std::nullopt}, Confidence{0.95}));
    EXPECT_FALSE(capability(summarised(50, 16.0, 0.0), {8.0, 20.0}, Confidence{0.95}));
    EXPECT_FALSE(capability(summarised(1, 16.0, 0.0), {8.0, 20.0}, Confidence{0.95}));
}
