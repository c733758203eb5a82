// Reference limits: scipy 1.x, adaptive quadrature over the law of the ends and a root finder; no
// code shared.
#include "analysis/statistics/shares/row_share.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

const Confidence usual{0.95};

void expect_limits(const std::optional<Estimate>& seen, Interval expected) {
    EXPECT_NEAR(seen->interval->low, expected.low, 1e-4 * expected.low);
    EXPECT_NEAR(seen->interval->high, expected.high, 1e-4 * expected.high);
}

} // namespace

TEST(RowShare, AgreesWithQuadratureElsewhere) {
    expect_limits(row_share({250, 20, 5}, 1.0, usual), {0.02300750404361488, 0.24472772450982916});
    expect_limits(row_share({1000, 30, 12, false, true}, 1.0, usual),
                  {0.014723618294315675, 0.06797482923399156});
    expect_limits(row_share({100, 9, 8}, 1.0, usual), {0.04164668966725163, 0.1781274903417649});
    expect_limits(row_share({200, 60, 30, false, true}, 1.0, usual),
                  {0.21930171594413903, 0.4007939035690074});
    expect_limits(row_share({10'000, 400, 160}, 1.0, usual),
                  {0.0330486776623408, 0.04842414519999308});
}

TEST(RowShare, AgreesWithQuadratureWhereARowCountsAsThreeAtMost) {
    expect_limits(capped_row_share({230, 4, 2, 3}, 1.0, usual),
                  {0.030973840513977224, 0.12858333119911664});
    expect_limits(capped_row_share({900, 5, 5, 10}, 1.0, usual),
                  {0.02869688000944339, 0.07317166269440244});
}

TEST(RowShare, IsClopperPearsonsWhereNoHitFollowsAnother) {
    for (const std::int64_t hits : {0, 1, 5, 40}) {
        const auto seen = row_share({250, hits, hits}, 1.0, usual);
        const Interval plain = clopper_pearson(hits, 250, usual);
        EXPECT_EQ(seen->interval->low, plain.low);
        EXPECT_EQ(seen->interval->high, plain.high);
        EXPECT_EQ(seen->method, "Clopper-Pearson");
        EXPECT_EQ(seen->events, hits);
    }
    EXPECT_EQ(capped_row_share({240, 7, 0, 0}, 1.0, usual)->interval->high,
              clopper_pearson(7, 247, usual).high);
}

TEST(RowShare, TurnsWhereMostEntriesAreHits) {
    const RowCounts few{.entries = 200, .hits = 30, .rows = 12, .begins_in_row = true};
    const auto seen = row_share(few, 1.0, usual);
    const auto turned = row_share(few.others(), 1.0, usual);
    EXPECT_NEAR(turned->interval->low, 1.0 - seen->interval->high, 1e-12);
    EXPECT_NEAR(turned->interval->high, 1.0 - seen->interval->low, 1e-12);
    EXPECT_EQ(row_share({600, 600, 1, true, true}, 1.0, usual)->interval->high, 1.0);
    EXPECT_GT(row_share({600, 600, 1, true, true}, 1.0, usual)->interval->low, 0.99);
}

// A row of 4 misses in 12 drops, and a gap of 2 m among four spacings, were "outside" 5 % once.
TEST(RowShare, HasNoLowerLimitFromOneEvent) {
    EXPECT_EQ(row_share({12, 4, 1}, 1.0, usual)->interval->low, 0.0);
    const auto gap = capped_row_share({4, 0, 0, 1}, 1.0, usual);
    EXPECT_EQ(gap->interval->low, 0.0);
    EXPECT_EQ(gap->events, 1);
}

TEST(RowShare, WidensWithRowsAndWithCrowdedStarts) {
    const auto apart = row_share({1000, 40, 38}, 1.0, usual);
    const auto rows = row_share({1000, 40, 10}, 1.0, usual);
    const auto crowded = row_share({1000, 40, 10}, 2.0, usual);
    EXPECT_GT(rows->interval->high, apart->interval->high);
    EXPECT_GT(crowded->interval->high, rows->interval->high);
    EXPECT_LT(crowded->interval->low, rows->interval->low);
}

TEST(RowShare, IsUndefinedWithoutEntriesAndRefusesWhatCannotBe) {
    EXPECT_FALSE(row_share({}, 1.0, usual));
    EXPECT_FALSE(capped_row_share({}, 1.0, usual));
    EXPECT_THROW(static_cast<void>(row_share({10, 11, 1}, 1.0, usual)), BrokenInvariant);
    EXPECT_THROW(static_cast<void>(row_share({10, 3, 4}, 1.0, usual)), BrokenInvariant);
    EXPECT_THROW(static_cast<void>(row_share({10, 3, 0}, 1.0, usual)), BrokenInvariant);
}

TEST(RestOfOne, AddsDistancesInQuadrature) {
    const Estimate first{.value = 0.1, .interval = Interval{0.07, 0.16}};
    const Estimate second{.value = 0.05, .interval = Interval{0.01, 0.13}};
    const Estimate rest = rest_of_one(first, second);
    EXPECT_NEAR(rest.value, 0.85, 1e-12);
    EXPECT_NEAR(rest.interval->low, 0.75, 1e-12);
    EXPECT_NEAR(rest.interval->high, 0.9, 1e-12);
    EXPECT_NEAR(rest_of_one(first, second, Sum::in_full).interval->low, 0.71, 1e-12);
    const Estimate none{.value = 0.1, .no_interval = NoInterval::all_equal};
    EXPECT_FALSE(rest_of_one(first, none).interval);
    EXPECT_EQ(rest_of_one(first, none).no_interval, NoInterval::all_equal);
}

TEST(ProductOf, AddsDistancesOfTheLogarithms) {
    const Estimate first{.value = 0.5, .interval = Interval{0.25, 0.5}};
    const Estimate second{.value = 0.5, .interval = Interval{0.5, 1.0}};
    const Interval product = product_of(first, second);
    EXPECT_NEAR(product.low, 0.125, 1e-12);
    EXPECT_NEAR(product.high, 0.5, 1e-12);
    const Estimate none{.value = 0.0, .interval = Interval{0.0, 0.2}};
    EXPECT_EQ(product_of(first, none).low, 0.0);
    EXPECT_NEAR(product_of(first, none).high, 0.1, 1e-12);
}
