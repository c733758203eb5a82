#include "analysis/statistics/stopping/fixed_plan.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

struct Row {
    TwoPoint points;
    std::int64_t n, accept;
};

// Does any sample of n keep both risks, whatever its acceptance number?
bool any_of_size(TwoPoint points, std::int64_t n) {
    for (std::int64_t c = 0; c < n; ++c)
        if (accept_probability({n, c}, points.good) >= 1.0 - points.alpha &&
            accept_probability({n, c}, points.bad) <= points.beta)
            return true;
    return false;
}

bool any_of_lot(TwoPoint points, std::int64_t n, std::int64_t lot) {
    const double size = static_cast<double>(lot);
    const LotContent good{lot, static_cast<std::int64_t>(points.good * size + 1e-9)};
    const LotContent bad{lot, static_cast<std::int64_t>(points.bad * size + 1.0 - 1e-9)};
    for (std::int64_t c = 0; c < n; ++c)
        if (accept_probability({n, c}, good) >= 1.0 - points.alpha &&
            accept_probability({n, c}, bad) <= points.beta)
            return true;
    return false;
}

} // namespace

// Recomputed with exact binomials; the first is NIST e-Handbook 6.2.3.2's pair of points (from
// memory).
TEST(FixedPlan, ReproducesKnownPlans) {
    for (const Row& row :
         {Row{{0.01, 0.10, 0.05, 0.10}, 52, 2}, Row{{0.01, 0.06, 0.05, 0.10}, 110, 3},
          Row{{0.01, 0.10, 0.05, 0.20}, 29, 1}}) {
        const auto plan = fixed_plan(row.points);
        ASSERT_TRUE(plan);
        EXPECT_EQ(plan->n, row.n);
        EXPECT_EQ(plan->accept, row.accept);
    }
}

TEST(FixedPlan, IsProvedMinimalBySearch) {
    for (const TwoPoint points :
         {TwoPoint{0.01, 0.10, 0.05, 0.10}, TwoPoint{0.01, 0.06, 0.05, 0.10},
          TwoPoint{0.02, 0.08, 0.05, 0.05}, TwoPoint{0.1, 0.5, 0.01, 0.01},
          TwoPoint{0.01, 0.10, 0.05, 0.20}}) {
        const auto plan = fixed_plan(points);
        ASSERT_TRUE(plan);
        EXPECT_GE(accept_probability(*plan, points.good), 1.0 - points.alpha);
        EXPECT_LE(accept_probability(*plan, points.bad), points.beta);
        for (std::int64_t n = 1; n < plan->n; ++n)
            EXPECT_FALSE(any_of_size(points, n)) << n;
    }
}

TEST(FixedPlan, OfALotIsProvedMinimalAndNeverLargerThanTheLot) {
    const TwoPoint points{0.02, 0.10, 0.05, 0.10};
    for (const std::int64_t lot : {1, 7, 50, 100, 280}) {
        const auto plan = fixed_plan_of_lot(points, lot);
        ASSERT_TRUE(plan);
        EXPECT_LE(plan->n, lot);
        for (std::int64_t n = 1; n < plan->n; ++n)
            EXPECT_FALSE(any_of_lot(points, n, lot)) << lot << " " << n;
    }
    EXPECT_LE(fixed_plan_of_lot(points, 280)->n, fixed_plan(points)->n);
    EXPECT_FALSE(fixed_plan_of_lot(points, 0));
}

TEST(FixedPlan, RefusesLevelsThatNoRunCouldTellApart) {
    EXPECT_FALSE(fixed_plan({0.04, 0.040001, 0.05, 0.10}));
    EXPECT_TRUE(fixed_plan({0.04, 0.043, 0.05, 0.10}));
    EXPECT_FALSE(fixed_plan({0.05, 0.04, 0.05, 0.10}));
}
