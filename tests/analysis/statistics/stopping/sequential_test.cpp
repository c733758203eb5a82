#include "analysis/statistics/stopping/sequential.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

constexpr TwoPoint nist{.good = 0.01, .bad = 0.10, .alpha = 0.05, .beta = 0.10};

struct Row {
    TwoPoint points;
    double h_accept, h_reject, slope;
};

} // namespace

// NIST e-Handbook 6.2.6 (parameters seen), Montgomery (lines from memory), Wald 1947 (parameters
// from memory); ten digits recomputed.
TEST(SequentialPlan, HasThePublishedLines) {
    const Row rows[] = {
        {nist, 0.9388616026, 1.2053786463, 0.0397474322},
        {{0.01, 0.10, 0.05, 0.20}, 0.6497967762, 1.1562593053, 0.0397474322},
        {{0.01, 0.06, 0.05, 0.10}, 1.2211492087, 1.5677999570, 0.0281110341},
        {{0.1, 0.3, 0.02, 0.03}, 2.5826255205, 2.8753885298, 0.1861689417},
    };
    for (const Row& row : rows) {
        const auto plan = sequential_plan(row.points);
        ASSERT_TRUE(plan);
        EXPECT_NEAR(plan->h_accept, row.h_accept, 0.5e-10);
        EXPECT_NEAR(plan->h_reject, row.h_reject, 0.5e-10);
        EXPECT_NEAR(plan->slope, row.slope, 0.5e-10);
    }
    EXPECT_NEAR(sequential_plan(nist)->k, 2.3978952728, 0.5e-10);
}

// The handbook's table for n = 1 … 100; seen, recomputed.
TEST(SequentialPlan, ReproducesTheHandbookTable) {
    const auto plan = sequential_plan(nist);
    for (std::int64_t n = 1; n <= 100; ++n) {
        const std::optional<std::int64_t> accept = n < 24
                                                       ? std::nullopt
                                                       : std::optional<std::int64_t>{n < 49    ? 0
                                                                                     : n < 74  ? 1
                                                                                     : n < 100 ? 2
                                                                                               : 3};
        EXPECT_EQ(plan->acceptance_number(n), accept) << n;
        const std::int64_t reject = n < 20 ? 2 : n < 46 ? 3 : n < 71 ? 4 : n < 96 ? 5 : 6;
        EXPECT_EQ(plan->rejection_number(n), n == 1 ? std::nullopt : std::optional{reject}) << n;
    }
}

// Recomputed: first n of each number, for beta 0.20 and for Montgomery's plan.
TEST(SequentialPlan, ReproducesTheOtherTables) {
    const auto wide = sequential_plan({0.01, 0.10, 0.05, 0.20});
    const std::int64_t wide_accept[] = {17, 42, 67, 92};
    for (std::int64_t c = 0; c < 4; ++c) {
        EXPECT_EQ(wide->acceptance_number(wide_accept[c]), c);
        EXPECT_NE(wide->acceptance_number(wide_accept[c] - 1), c);
    }
    const auto montgomery = sequential_plan({0.01, 0.06, 0.05, 0.10});
    EXPECT_EQ(montgomery->acceptance_number(44), 0);
    EXPECT_EQ(montgomery->acceptance_number(43), std::nullopt);
    EXPECT_EQ(montgomery->acceptance_number(80), 1);
    EXPECT_EQ(montgomery->acceptance_number(115), 2);
    EXPECT_EQ(montgomery->rejection_number(15), 2);
    EXPECT_EQ(montgomery->rejection_number(16), 3);
    EXPECT_EQ(montgomery->rejection_number(50), 3);
    EXPECT_EQ(montgomery->rejection_number(51), 4);
}

// The handbook's run: failures at items 14, 32 and 38; rejected at item 38; seen, recomputed.
TEST(SequentialTest, RejectsTheHandbookRunAtItem38) {
    SequentialTest test{*sequential_plan(nist), 1000};
    for (int item = 1; item < 38; ++item)
        ASSERT_EQ(test.step(item == 14 || item == 32), Decision::go_on) << item;
    EXPECT_EQ(test.step(true), Decision::reject);
    EXPECT_EQ(test.entries(), 38);
    EXPECT_EQ(test.hits(), 3);
}

TEST(SequentialTest, StaysDecidedAndStopsAtTheMaximum) {
    SequentialTest clean{*sequential_plan(nist), 1000};
    for (int item = 1; item < 24; ++item)
        EXPECT_EQ(clean.step(false), Decision::go_on);
    EXPECT_EQ(clean.step(false), Decision::accept);
    EXPECT_EQ(clean.step(true), Decision::accept);
    EXPECT_EQ(clean.entries(), 24);

    SequentialTest cut{*sequential_plan(nist), 10};
    for (int item = 1; item < 10; ++item)
        EXPECT_EQ(cut.step(false), Decision::go_on);
    EXPECT_EQ(cut.step(false), Decision::undecided);
    EXPECT_THROW((SequentialTest{*sequential_plan(nist), 0}), BrokenInvariant);
}

TEST(SequentialPlan, RefusesPointsThatMakeNoPlan) {
    const TwoPoint wrong[] = {{0.1, 0.1, 0.05, 0.1},  {0.2, 0.1, 0.05, 0.1},  {0.0, 0.1, 0.05, 0.1},
                              {0.01, 1.0, 0.05, 0.1}, {1.0, 10.0, 0.05, 0.1}, {0.01, 0.1, 0.0, 0.1},
                              {0.01, 0.1, 0.6, 0.5},  {0.01, 0.1, 0.05, 1.0}};
    for (const TwoPoint& points : wrong) {
        const auto plan = sequential_plan(points);
        ASSERT_FALSE(plan);
        EXPECT_EQ(plan.error().kind, ErrorKind::usage);
        EXPECT_FALSE(plan.error().remedy.empty());
    }
}
