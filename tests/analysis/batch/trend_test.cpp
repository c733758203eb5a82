#include "analysis/batch/series/trend.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

statistics::Estimate estimate(double value) {
    return {value, statistics::Interval{value / 2.0, value * 2.0}, Confidence{0.95}, "constructed"};
}

BatchFigures batch_of(int number, double misses, std::optional<double> outside) {
    BatchFigures batch;
    batch.id = fmt::format("B-{}", number);
    batch.opened = fmt::format("2026-{:02}-01T08:00:00Z", number);
    batch.found.units = 20;
    batch.found.drops = 10'000;
    batch.found.pooled_miss = estimate(misses);
    batch.found.limit = 0.05;
    if (outside)
        batch.found.share_outside = estimate(*outside);
    return batch;
}

} // namespace

TEST(BatchTrend, ChartsBatchesInOrderOfOpeningWhateverOrderTheyAreNamedIn) {
    const auto trend =
        batch_trend({batch_of(3, 0.012, 0.02), batch_of(1, 0.010, 0.01), batch_of(2, 0.011, {})});
    ASSERT_TRUE(trend);
    EXPECT_EQ(trend->batches[0].id, "B-1");
    EXPECT_EQ(trend->batches[2].id, "B-3");
    const BatchQuantity& misses = trend->quantities[0];
    ASSERT_TRUE(misses.chart);
    EXPECT_NEAR(misses.chart->centre, 0.011, 1e-12);
    EXPECT_NEAR(misses.chart->sigma, 0.001 * std::sqrt(std::acos(-1.0)) / 2.0,
                1e-12); // by hand: both ranges are 0.001, d2 = 2/sqrt(pi)
    const BatchQuantity& outside = trend->quantities[1];
    EXPECT_EQ(outside.batches, (std::vector<std::size_t>{0, 2}));
    ASSERT_EQ(outside.left_out.size(), 1U);
    EXPECT_EQ(outside.left_out[0].find("B-2: not defined"), 0U);
    EXPECT_FALSE(trend->any_signal());
}

TEST(BatchTrend, SignalsARise) {
    std::vector<BatchFigures> batches;
    for (int i = 1; i <= 9; ++i)
        batches.push_back(batch_of(i, 0.01 + 0.002 * i, 0.01));
    const auto trend = batch_trend(batches);
    ASSERT_TRUE(trend);
    EXPECT_TRUE(trend->any_signal());
    EXPECT_FALSE(trend->quantities[0].chart->signals.empty());
    EXPECT_TRUE(trend->quantities[1].chart->signals.empty());
}

// Shares of 1e-7 % rose and fell by powers of ten and signalled (2026-03).
TEST(BatchTrend, SignalsNothingAmongSharesThatAreAsGoodAsNone) {
    std::vector<BatchFigures> batches;
    for (int i = 1; i <= 9; ++i)
        batches.push_back(batch_of(i, 0.01, i == 9 ? 1e-9 : 1e-12 * i));
    const auto trend = batch_trend(batches);
    ASSERT_TRUE(trend);
    ASSERT_TRUE(trend->quantities[1].chart);
    EXPECT_TRUE(trend->quantities[1].chart->signals.empty());
    EXPECT_NE(trend->quantities[1].caution.find("0.001 %"), std::string::npos);
    batches.back().found.share_outside = estimate(0.002);
    EXPECT_FALSE(batch_trend(batches)->quantities[1].chart->signals.empty());
}

TEST(BatchTrend, ComparesNoSharesBeyondDifferentLimits) {
    auto second = batch_of(2, 0.01, 0.02);
    second.found.limit = 0.03;
    const auto trend = batch_trend({batch_of(1, 0.01, 0.02), second});
    ASSERT_TRUE(trend);
    EXPECT_TRUE(trend->quantities[0].chart);
    EXPECT_FALSE(trend->quantities[1].chart);
    EXPECT_NE(trend->quantities[1].left_out.back().find("from batch B-2 on"), std::string::npos);
}

TEST(BatchTrend, RefusesABatchNamedTwiceAndDrawsNothingOfOne) {
    EXPECT_FALSE(batch_trend({batch_of(1, 0.01, 0.02), batch_of(1, 0.01, 0.02)}));
    const auto one = batch_trend({batch_of(1, 0.01, 0.02)});
    ASSERT_TRUE(one);
    EXPECT_FALSE(one->any_chart());
}

TEST(BatchTrend, TakesItsFiguresFromTheCountedRuns) {
    Batch batch;
    batch.id = "B";
    for (int i = 0; i < 3; ++i) {
        TestedRun run;
        run.unit = fmt::format("U-{}", i);
        run.drops = 100;
        run.misses = i;
        if (i == 2)
            run.taken_out = TakenOut{};
        batch.runs.push_back(run);
    }
    const BatchFigures figures = figures_of(batch, 0.05, Confidence{0.95});
    EXPECT_EQ(figures.found.drops, 200);
    EXPECT_EQ(figures.found.misses, 1);
    EXPECT_FALSE(figures.outcome);
}
