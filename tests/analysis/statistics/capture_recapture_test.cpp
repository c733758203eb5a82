#include "analysis/statistics/capture_recapture.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

// Published results seen in public copies; source books named.
TEST(CaptureRecapture, ReproducesPublishedEstimates) {
    struct Row {
        const char* source;
        TwoObservers seen;
        double chapman, error, low, high; // normal limits
        double tolerance;
    };
    const Row rows[] = {
        {"Krebs 1989, box 2.1", {167, 948, 421}, 2382.798, 129.1, 2129.9, 2635.7, 0.5e-1},
        {"Seber 2002, tables 3.7, 3.8", {7, 500, 149}, 9392.75, 3022.184, 3469.4, 15316.1, 0.6e-1},
        {"Seber 2002", {21, 1000, 243}, 11101.000, 2183.701, 6821.0, 15381.0, 0.6e-1},
    };
    for (const Row& row : rows) {
        const auto found = recapture(row.seen, Confidence{0.95});
        ASSERT_TRUE(found) << row.source;
        EXPECT_NEAR(found->seeds.value, row.chapman, 0.5e-3) << row.source;
        EXPECT_NEAR(found->standard_error, row.error, 0.5e-1) << row.source;
        EXPECT_NEAR(found->normal_limits.low, row.low, row.tolerance) << row.source;
        EXPECT_NEAR(found->normal_limits.high, row.high, row.tolerance) << row.source;
    }
    EXPECT_NEAR(*recapture({167, 948, 421}, Confidence{0.95})->petersen, 2389.868, 0.5e-3);
}

// Encyclopaedia example with Sadinle's limits 22 to 65 (memory), recomputed.
TEST(CaptureRecapture, HasSadinlesLimits) {
    const auto found = recapture({5, 10, 15}, Confidence{0.95});
    EXPECT_NEAR(found->seeds.value, 28.3333, 0.5e-4);
    EXPECT_NEAR(found->standard_error * found->standard_error, 34.9206, 0.5e-4);
    EXPECT_NEAR(found->seeds.interval->low, 21.94, 0.5e-2);
    EXPECT_NEAR(found->seeds.interval->high, 64.67, 0.5e-2);
    EXPECT_NEAR(*found->petersen, 30.0, 1e-12);
    EXPECT_NEAR(found->first_efficiency->value, 5.0 / 15.0, 1e-12);
    EXPECT_NEAR(found->second_efficiency->value, 0.5, 1e-12);
}

TEST(CaptureRecapture, HoldsTheEdges) {
    const auto perfect = recapture({100, 100, 100}, Confidence{0.95});
    EXPECT_EQ(perfect->seeds.value, 100.0);
    EXPECT_EQ(perfect->standard_error, 0.0);
    EXPECT_EQ(perfect->first_efficiency->interval->high, 1.0);
    const auto blind = recapture({0, 50, 0}, Confidence{0.95});
    EXPECT_FALSE(blind->petersen);
    EXPECT_FALSE(blind->first_efficiency);
    EXPECT_EQ(blind->second_efficiency->value, 0.0);
    EXPECT_FALSE(recapture({0, 0, 0}, Confidence{0.95}));
    EXPECT_THROW(static_cast<void>(recapture({6, 5, 9}, Confidence{0.95})), BrokenInvariant);
}
