#include "analysis/sampling/double_search.hpp"

#include "analysis/statistics/stopping/fixed_plan.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::batch;
using dropledger::statistics::TwoPoint;

namespace {

bool keeps(const DoublePoint& good, const DoublePoint& bad, const TwoPoint& points) {
    return good.accept_probability() >= 1.0 - points.alpha &&
           bad.accept_probability() <= points.beta;
}

// By brute force and the plan's own formula: does any double plan with this first sample keep both
// risks?
bool any_with(std::int64_t n1, const DoubleSearch& search) {
    const TwoPoint& points = search.points;
    for (std::int64_t c2 = 1; c2 < std::min<std::int64_t>(n1, 30); ++c2)
        for (std::int64_t at = 0; at < c2 * c2; ++at) {
            const std::int64_t c1 = at / c2;
            const DoublePlan plan{n1, c1, at % c2 + 2, search.ratio * n1, c2};
            if (plan.reject1 < c1 + 2)
                continue;
            if (search.lot
                    ? keeps(double_point_of_lot(
                                plan, *search.lot,
                                static_cast<std::int64_t>(
                                    points.good * static_cast<double>(*search.lot) + 1e-9)),
                            double_point_of_lot(
                                plan, *search.lot,
                                static_cast<std::int64_t>(
                                    points.bad * static_cast<double>(*search.lot) + 1.0 - 1e-9)),
                            points)
                    : keeps(double_point(plan, points.good), double_point(plan, points.bad),
                            points))
                return true;
        }
    return false;
}

const DoubleSearch searches[] = {
    {{0.01, 0.10, 0.05, 0.10}, 1, {}},  {{0.01, 0.10, 0.05, 0.10}, 2, {}},
    {{0.01, 0.06, 0.05, 0.10}, 1, {}},  {{0.05, 0.20, 0.05, 0.05}, 2, {}},
    {{0.01, 0.08, 0.05, 0.10}, 1, 280}, {{0.02, 0.12, 0.05, 0.10}, 2, 150}};

} // namespace

TEST(DoubleSearch, FindsAPlanThatKeepsBothRisksAndNoneIsSmaller) {
    for (const DoubleSearch& search : searches) {
        const auto found = smallest_double_plan(search);
        ASSERT_TRUE(found);
        EXPECT_TRUE(checked(found->plan));
        EXPECT_EQ(found->plan.n2, search.ratio * found->plan.n1);
        EXPECT_TRUE(keeps(found->at_good, found->at_bad, search.points));
        for (std::int64_t n1 = 1; n1 < found->plan.n1; ++n1)
            EXPECT_FALSE(any_with(n1, search)) << n1;
        EXPECT_TRUE(any_with(found->plan.n1, search));
    }
}

// 2026-11-26: with reject1 fixed at accept2 + 1 the search answered 29 + 29, though 27 + 27 that
// rejects from 2 on keeps both risks with a smaller mean sample.
TEST(DoubleSearch, TriesFirstSamplesThatRejectEarlierThanBothTogether) {
    const auto found = smallest_double_plan({{0.01, 0.10, 0.05, 0.10}, 1, {}});
    ASSERT_TRUE(found);
    EXPECT_EQ(found->plan.n1, 27);
    EXPECT_EQ(found->plan.accept1, 0);
    EXPECT_EQ(found->plan.reject1, 2);
    EXPECT_EQ(found->plan.accept2, 2);
    EXPECT_NEAR(found->at_good.mean_sample, 32.6136145, 0.5e-7); // by exact sums in Python
}

// What a second sample is for: fewer units on average than the single plan, for good lots.
TEST(DoubleSearch, TestsFewerGoodUnitsThanTheSinglePlan) {
    for (const DoubleSearch& search : searches) {
        const auto single = search.lot ? statistics::fixed_plan_of_lot(search.points, *search.lot)
                                       : statistics::fixed_plan(search.points);
        EXPECT_LT(smallest_double_plan(search)->at_good.mean_sample,
                  static_cast<double>(single->n));
    }
}

TEST(DoubleSearch, RefusesWhatMakesNoPlan) {
    EXPECT_FALSE(smallest_double_plan({{0.01, 0.10, 0.05, 0.10}, 0, {}}));
    EXPECT_FALSE(smallest_double_plan({{0.10, 0.01, 0.05, 0.10}, 1, {}}));
    EXPECT_FALSE(smallest_double_plan({{0.010, 0.0101, 0.05, 0.10}, 1, {}}));
    EXPECT_FALSE(smallest_double_plan({{0.01, 0.10, 0.05, 0.10}, 1, 3})); // no room for two samples
}
