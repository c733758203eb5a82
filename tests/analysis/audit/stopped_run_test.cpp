// What the audit states after a run that stopped itself; the table with more runs is in the room's
// README.
#include "tests/analysis/audit/stopped_index.hpp"

#include <gtest/gtest.h>

#include <cmath>

using dropledger::testing::held_after_stop;
using dropledger::testing::HeldAfterStop;

// The plain interval of the index held too seldom where a run stopped as bad: it stops when much was
// seen.
TEST(StoppedRun, HoldsTheIndexWheneverTheRunEnds) {
    constexpr int runs = 150;
    const double least = 0.93 - 2.0 * std::sqrt(0.93 * 0.07 / runs);
    for (const double share : {0.02, 0.1})
        for (const double row : {1.0, 5.0}) {
            const HeldAfterStop held =
                held_after_stop({.share = share, .row_length = row, .runs = runs, .seed = 3});
            EXPECT_GE(held.miss_index, least) << share << ' ' << row;
            EXPECT_GE(held.quality_of_feed_index, least) << share << ' ' << row;
            EXPECT_GE(held.gaps_per_spacing, least) << share << ' ' << row;
            EXPECT_GE(held.miss_share, least) << share << ' ' << row;
        }
}

TEST(StoppedRun, FindsInsideWhatTheRunCalledGood) {
    const HeldAfterStop held = held_after_stop({.share = 0.01, .runs = 100, .seed = 5});
    EXPECT_GE(held.agreed, 0.98);
}
