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
        for (std::int64_t c1 = 0; c1 < c2; ++c1) {
            const DoublePlan plan{n1, c1, c2 + 1, search.ratio * n1, c2};
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
