// Shares along a run, on hand-made sequences.
#include "analysis/causes/along_the_run.hpp"

#include <gtest/gtest.h>

using namespace dropledger::causes;

namespace {

// One hit in `early` drops up to `change`, one in `late` from there on.
ShareCourse course_of(int drops, int change, int early, int late) {
    ShareAlong along;
    for (int k = 0; k < drops; ++k)
        along.add(k % (k < change ? early : late) == 0);
    return *along.course();
}

} // namespace

TEST(ShareAlong, FindsWhereAShareChanges) {
    const ShareCourse found = course_of(1024, 768, 250, 12);
    EXPECT_EQ(found.quarters, 3);
    EXPECT_TRUE(found.rises());
    EXPECT_EQ(found.worse().x, found.last.x);
    EXPECT_LT(found.p_value, 1e-6);
}

TEST(ShareAlong, SeesNoChangeInAShareThatStays) {
    EXPECT_GT(course_of(1024, 512, 50, 50).p_value, 0.5);
}

// Forty misses that follow each other are one event, wherever they lie.
TEST(ShareAlong, CountsARowOnce) {
    ShareAlong along;
    for (int k = 0; k < 1024; ++k)
        along.add(k >= 900 && k < 940);
    EXPECT_GT(along.course()->p_value, 0.1);
    EXPECT_EQ(along.course()->worse().x, 40);
}

TEST(ShareAlong, SaysNothingOfAShortRun) {
    ShareAlong along;
    for (int k = 0; k < 50; ++k)
        along.add(k > 25);
    EXPECT_FALSE(along.course());
}
