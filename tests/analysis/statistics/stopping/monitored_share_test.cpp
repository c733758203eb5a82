#include "analysis/statistics/stopping/monitored_share.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/shares/row_share.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

const Confidence usual{0.95};
const Monitoring usual_run{.first = 50, .most = 2000};

} // namespace

// phi(z)((z - 1/z) ln(40) + 4/z) = 0.05 at z = 2.996 (scipy's root finder), a confidence of 99.727
// %.
TEST(MonitoredShare, HasTheConfidenceOfEachDrop) {
    EXPECT_NEAR(confidence_of_each(usual_run, usual).level(), 0.997267, 1e-6);
    // At one drop only the formula is on the safe side.
    EXPECT_NEAR(confidence_of_each({.first = 100, .most = 100}, usual).level(), 0.978243, 1e-6);
    EXPECT_GE(confidence_of_each({.first = 100, .most = 10}, usual).level(), 0.95);
}

TEST(MonitoredShare, HoldsAtEveryDropOfTheRunTogether) {
    std::mt19937_64 random{3};
    std::uniform_real_distribution<double> uniform;
    constexpr int runs = 60;
    int held = 0;
    for (int run = 0; run < runs; ++run) {
        LimitTest counter{{.limit = 0.999, .monitoring = {.first = 400, .most = 400}}};
        bool all = true;
        for (int drop = 1; drop < 400; ++drop) {
            counter.step(uniform(random) < 0.06);
            if (drop < 50 || drop % 25 != 0)
                continue;
            const auto seen = monitored_share(counter.counts(), {.first = 50, .most = 400}, usual);
            all = all && seen->interval->low <= 0.06 && 0.06 <= seen->interval->high;
        }
        held += all ? 1 : 0;
    }
    EXPECT_GE(held, 0.95 * runs - 2.0 * std::sqrt(0.95 * 0.05 * runs));
}

TEST(MonitoredShare, IsWiderThanThatOfAFixedRun) {
    for (const RowCounts& counts :
         {RowCounts{400, 0, 0}, RowCounts{400, 8, 8}, RowCounts{400, 30, 9}}) {
        const Interval fixed = *row_share(counts, 1.0, usual)->interval;
        const Interval monitored = *monitored_share(counts, usual_run, usual)->interval;
        EXPECT_LE(monitored.low, fixed.low) << counts.hits;
        EXPECT_GT(monitored.high, fixed.high) << counts.hits;
    }
    EXPECT_FALSE(monitored_share({}, usual_run, usual));
}

// Rows of ten start at one of p/(1 - p)/10 drops; that 500 drops hold no start has the chance 2.5 %
// at p = 6.85 % (by hand).
TEST(MonitoredShare, AllowsForRowsOfTenWhereNoneWasSeen) {
    const auto none = monitored_share({500, 0, 0}, usual_run, usual);
    const double p = none->interval->high;
    EXPECT_NEAR(std::pow(1.0 - p / (1.0 - p) / 10.0, 500), 0.025, 1e-9);
    EXPECT_EQ(none->interval->low, 0.0);
}

TEST(LimitTest, KeepsItsDecision) {
    LimitTest test{{.limit = 0.05, .least = 250}};
    for (int drop = 1; drop <= 2000; ++drop)
        test.step(drop % 4 == 0);
    EXPECT_EQ(test.decision(), Decision::reject);
    EXPECT_LT(test.counts().entries, 200);
    EXPECT_EQ(test.counts().entries % 10, 0);
    LimitTest all_hits{{.limit = 0.05, .least = 250}};
    for (int drop = 1; drop <= 2000; ++drop)
        all_hits.step(true);
    EXPECT_EQ(all_hits.decision(), Decision::reject);
}

TEST(LimitTest, EndsUndecidedAtTheMaximum) {
    LimitTest test{{.limit = 0.05, .monitoring = {.first = 50, .most = 120}}};
    for (int drop = 1; drop <= 120; ++drop)
        test.step(drop % 20 == 0);
    EXPECT_EQ(test.decision(), Decision::undecided);
    EXPECT_EQ(test.counts().entries, 120);
    EXPECT_THROW(LimitTest({.limit = 0.05, .every = 0}), BrokenInvariant);
}
