#include "bench/book/trend.hpp"

#include <gtest/gtest.h>

namespace dropledger::book {
namespace {

constexpr measures::Reported miss_index{measures::Quantity::miss_index};

std::vector<Run> runs_with(const std::vector<double>& miss_indices) {
    std::vector<Run> runs;
    for (std::size_t i = 0; i < miss_indices.size(); ++i) {
        Run run;
        run.run_id = "run " + std::to_string(i);
        run.file = run.run_id + ".droplog";
        run.mode = droplog::Mode::single;
        run.complete = run.seals_intact = true;
        Verdict verdict;
        verdict.quantities = {{"per_spacing", "miss_index", 99.0, {}, {}},
                              {"spacing", "miss_index", miss_indices[i], {}, {}}};
        run.verdicts = {verdict};
        runs.push_back(run);
    }
    return runs;
}

TEST(Trend, CallsAJumpAndNotTheUsualSpread) {
    // constructed: mean moving range of the first ten about 0.002
    std::vector<double> values{0.020, 0.022, 0.021, 0.019, 0.021,
                               0.020, 0.022, 0.020, 0.019, 0.021};
    EXPECT_TRUE(trend(runs_with(values), miss_index).chart->signals.empty());
    values.push_back(0.060);
    const Trend jumped = trend(runs_with(values), miss_index);
    ASSERT_FALSE(jumped.chart->signals.empty());
    bool of_the_last = false;
    for (const auto& signal : jumped.chart->signals)
        of_the_last = of_the_last || signal.last == values.size() - 1;
    EXPECT_TRUE(of_the_last);
    EXPECT_EQ(jumped.points.back().file, "run 10.droplog");
}

TEST(Trend, LeavesOutWhatCannotBeTrustedAndNamesIt) {
    auto runs = runs_with({0.02, 0.03, 0.9, 0.8});
    runs[2].complete = false;
    runs[3].seals_intact = false;
    const Trend found = trend(runs, miss_index);
    EXPECT_EQ(found.points.size(), 2U);
    ASSERT_EQ(found.left_out.size(), 2U);
    EXPECT_NE(found.left_out[0].find("incomplete"), std::string::npos);
    EXPECT_NE(found.left_out[1].find("seals"), std::string::npos);
    EXPECT_DOUBLE_EQ(found.chart->centre, 0.025);
}

TEST(Trend, HasNoChartOfOneRunAndNoneOfAQuantityThatNoRunHas) {
    EXPECT_FALSE(trend(runs_with({0.02}), miss_index).chart);
    EXPECT_TRUE(trend(runs_with({0.02, 0.03}), {measures::Quantity::cv}).points.empty());
}

TEST(Trend, AShareHasNoLimitBelowNothing) {
    const Trend found = trend(runs_with({0.001, 0.02, 0.001, 0.02}), miss_index);
    ASSERT_TRUE(found.chart);
    EXPECT_FALSE(found.chart->points.front().lower);
    EXPECT_TRUE(found.chart->points.front().upper);
}

std::vector<std::string> usual_keys(const std::vector<Run>& runs) {
    std::vector<std::string> keys;
    for (const measures::Reported& what : usual_quantities(runs))
        keys.push_back(key_of(what));
    return keys;
}

TEST(Trend, KnowsWhatIsUsualForAMode) {
    auto runs = runs_with({0.02});
    EXPECT_EQ(usual_keys(runs), (std::vector<std::string>{"miss_index", "offset_mm"}));
    runs.front().verdicts.front().quantities.push_back({"sensor", "corrected_miss", 0.01, {}, {}});
    EXPECT_EQ(usual_keys(runs),
              (std::vector<std::string>{"miss_index", "corrected_miss", "offset_mm"}));
    runs.front().mode = droplog::Mode::line;
    EXPECT_EQ(usual_keys(runs), (std::vector<std::string>{"rate_error", "cv"}));
}

} // namespace
} // namespace dropledger::book
