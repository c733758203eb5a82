#include "analysis/sampling/switching.hpp"

#include <gtest/gtest.h>

using namespace dropledger::batch;

namespace {

const InspectedLot good{LotOutcome::accepted, 0, false, true};
const InspectedLot bad{LotOutcome::not_accepted, 0, false, true};

void add(Switching& series, const InspectedLot& lot, int times) {
    for (int i = 0; i < times; ++i)
        series.add(lot);
}

} // namespace

// Rules from memory of ISO 2859-1:1999, clause 9; sequences constructed.
TEST(Switching, TightensAtTwoOfFive) {
    Switching near{false};
    near.add(bad);
    add(near, good, 4);
    near.add(bad); // the first has left the window of five
    EXPECT_EQ(near.next(), Severity::normal);
    add(near, good, 3);
    near.add(bad);
    EXPECT_EQ(near.next(), Severity::tightened);
}

TEST(Switching, ReturnsAfterFiveInARowAndStopsAtFiveRefused) {
    Switching series{false};
    add(series, bad, 2);
    ASSERT_EQ(series.next(), Severity::tightened);
    add(series, good, 4);
    series.add(bad);
    EXPECT_EQ(series.next(), Severity::tightened);
    add(series, good, 5);
    EXPECT_EQ(series.next(), Severity::normal);

    Switching failing{false};
    add(failing, bad, 2 + 4);
    EXPECT_FALSE(failing.stopped());
    failing.add(bad);
    EXPECT_TRUE(failing.stopped());
    add(failing, good, 9);
    EXPECT_TRUE(failing.stopped());
}

TEST(Switching, ReducesAtAScoreOfThirty) {
    Switching series{true};
    add(series, good, 14);
    EXPECT_EQ(series.score(), 28);
    EXPECT_EQ(series.next(), Severity::normal);
    series.add(good);
    EXPECT_EQ(series.next(), Severity::reduced);

    Switching large{true};
    add(large, {LotOutcome::accepted, 3, true, true}, 9);
    EXPECT_EQ(large.score(), 27);
    large.add({LotOutcome::accepted, 3, false, true}); // accepted, but not one step tighter
    EXPECT_EQ(large.score(), 0);

    Switching forbidden{false};
    add(forbidden, good, 40);
    EXPECT_EQ(forbidden.next(), Severity::normal);
}

TEST(Switching, LeavesReducedInTheGapAndAtIrregularProduction) {
    for (const InspectedLot& lot : {InspectedLot{LotOutcome::accepted_ends_reduced, 1, false, true},
                                    bad, InspectedLot{LotOutcome::accepted, 0, false, false}}) {
        Switching series{true};
        add(series, good, 15);
        ASSERT_EQ(series.next(), Severity::reduced);
        series.add(lot);
        EXPECT_EQ(series.next(), Severity::normal);
    }
}

// Letter J (lot 1200), AQL 1.5: 80, 3/4; one step tighter, AQL 1.0: 80, 2/3.
TEST(Switching, LooksOneAqlStepTighter) {
    const LotRequest request{1200, "II", 1.5, Severity::normal};
    EXPECT_TRUE(*passes_one_step_tighter(request, 2));
    EXPECT_FALSE(*passes_one_step_tighter(request, 3));
    EXPECT_TRUE(*passes_one_step_tighter({1200, "II", 0.10, Severity::normal}, 0)); // 0.065
    EXPECT_FALSE(*passes_one_step_tighter({1200, "II", 0.010, Severity::normal}, 0));
    EXPECT_FALSE(passes_one_step_tighter({1200, "II", 0.11, Severity::normal}, 0));
}
