#include "analysis/sampling/double_plan.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

// Textbook plan (Montgomery, Introduction to Statistical Quality Control): 50 with 1 and 4, then
// 100 with 3.
constexpr DoublePlan textbook{.n1 = 50, .accept1 = 1, .reject1 = 4, .n2 = 100, .accept2 = 3};

} // namespace

// At p = 0.05: 0.279 by the first sample (memory). The remembered 0.010 and 0.289 for the second
// and the sum come from factors rounded beforehand; 0.0110 and 0.2904 are recomputed with scipy.
TEST(DoublePlan, ReproducesTheTextbookExample) {
    const auto point = double_point(textbook, 0.05);
    EXPECT_NEAR(point.accept_first, 0.279, 0.5e-3);
    EXPECT_NEAR(point.accept_second, 0.0109837, 0.5e-7);
    EXPECT_NEAR(point.accept_probability(), 0.2904155, 0.5e-7);
    EXPECT_NEAR(point.mean_sample, 98.1, 0.5e-1);
    EXPECT_EQ(double_point(textbook, 0.0).mean_sample, 50.0);
}

// By hand: lot of 4 with 2 nonconforming; first 1 accepts 0, rejects 2 and more (never): one
// nonconforming unit calls for one more, which accepts if sound. P = 1/2 + 1/2 · 2/3.
TEST(DoublePlan, DrawsTheSecondSampleFromWhatIsLeft) {
    const DoublePlan plan{.n1 = 1, .accept1 = 0, .reject1 = 2, .n2 = 1, .accept2 = 1};
    const auto point = double_point_of_lot(plan, 4, 2);
    EXPECT_NEAR(point.accept_first, 0.5, 1e-12);
    EXPECT_NEAR(point.accept_second, 0.5 * 2.0 / 3.0, 1e-12);
    EXPECT_NEAR(point.mean_sample, 1.5, 1e-12);
    EXPECT_THROW(static_cast<void>(double_point_of_lot(plan, 1, 0)), BrokenInvariant);
}

TEST(DoublePlan, ApproachesTheBinomialInLargeLots) {
    const auto lot = double_point_of_lot(textbook, 1'000'000, 50'000);
    const auto stream = double_point(textbook, 0.05);
    EXPECT_NEAR(lot.accept_probability(), stream.accept_probability(), 1e-3);
    EXPECT_NEAR(lot.mean_sample, stream.mean_sample, 1e-1);
}

TEST(DoublePlan, RefusesNumbersWithoutOrder) {
    EXPECT_TRUE(checked(textbook));
    EXPECT_FALSE(checked(DoublePlan{50, 3, 4, 100, 3})); // nothing between
    EXPECT_FALSE(checked(DoublePlan{50, 1, 4, 0, 3}));
    EXPECT_FALSE(checked(DoublePlan{50, 1, 4, 100, 0}));
    EXPECT_FALSE(checked(DoublePlan{2, 1, 4, 100, 3}));
}

// Three nonconforming units are accepted for certain; the sum of the chances was 1 + 1.4e-12.
TEST(DoublePlan, AcceptsWithNoMoreThanCertainty) {
    for (std::int64_t nonconforming = 0; nonconforming <= 3; ++nonconforming) {
        const double chance =
            double_point_of_lot(textbook, 1000, nonconforming).accept_probability();
        EXPECT_LE(chance, 1.0);
        EXPECT_NEAR(chance, 1.0, 1e-11);
    }
}
