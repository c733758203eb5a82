#include "analysis/statistics/more_needed.hpp"

#include "analysis/statistics/proportion.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

const Confidence confidence{0.95};
constexpr std::int64_t cap = 1'000'000;

bool straddles(Interval interval, double limit) {
    return interval.low < limit && limit < interval.high;
}

} // namespace

TEST(MoreNeeded, AgreesWithTheIntervalAtWholeCounts) {
    // 2 % seen, limit 5 %: at multiples of 50 the forecast count of hits is whole.
    const auto more = more_needed(ShareSeen{1, 50}, Share{0.05}, confidence, cap);
    ASSERT_TRUE(more);
    const std::int64_t decided = (50 + *more + 49) / 50 * 50;
    EXPECT_FALSE(straddles(clopper_pearson(decided / 50, decided, confidence), 0.05));
    const std::int64_t before = (50 + *more - 1) / 50 * 50;
    EXPECT_TRUE(straddles(clopper_pearson(before / 50, before, confidence), 0.05));
}

// 0 misses of n: decided once 1 - 0.025^(1/n) < 0.05, that is n = 72 (by hand).
TEST(MoreNeeded, KnowsTheCleanRun) {
    EXPECT_EQ(more_needed(ShareSeen{0, 40}, Share{0.05}, confidence, cap), 32);
    EXPECT_EQ(more_needed(ShareSeen{0, 72}, Share{0.05}, confidence, cap), 0);
    // Inflated twofold it takes twice as many.
    EXPECT_EQ(more_needed(ShareSeen{0, 40, 2.0}, Share{0.05}, confidence, cap), 104);
}

TEST(MoreNeeded, GivesNoNumberOnTheLimitOrBeyondTheCap) {
    EXPECT_FALSE(more_needed(ShareSeen{5, 100}, Share{0.05}, confidence, cap));
    EXPECT_FALSE(more_needed(ShareSeen{4, 100}, Share{0.05}, confidence, 100));
    EXPECT_FALSE(more_needed(ShareSeen{0, 0}, Share{0.05}, confidence, cap));
    EXPECT_EQ(more_needed(ShareSeen{90, 100}, Share{0.05}, confidence, cap), 0);
}

TEST(MoreNeeded, IsTheFirstNumberThatDecides) {
    for (const std::int64_t x : {3, 6, 8, 12}) {
        const auto more = more_needed(ShareSeen{x, 150, 1.3}, Share{0.05}, confidence, cap);
        ASSERT_TRUE(more) << x;
        // As x of 150 grows in proportion, a later look never straddles again.
        for (const std::int64_t times : {2, 3, 10, 50}) {
            const bool later = 150 * times >= 150 + *more;
            EXPECT_EQ(
                !straddles(clopper_pearson_inflated(x * times, 150 * times, 1.3, confidence), 0.05),
                later)
                << x << " " << times;
        }
    }
}

TEST(MoreNeeded, ScalesOtherEstimatesWithTheRootOfTheirNumber) {
    Estimate c{
        .value = 0.2, .interval = Interval{0.1, 0.3}, .confidence = confidence, .method = ""};
    // Half width 0.1 must shrink below 0.05: four times as many.
    EXPECT_EQ(more_needed(c, 100, 0.25, cap), 301);
    EXPECT_EQ(more_needed(c, 100, 0.31, cap), 0);
    EXPECT_FALSE(more_needed(c, 100, 0.2, cap));
    c.interval = std::nullopt;
    EXPECT_FALSE(more_needed(c, 100, 0.25, cap));
}
