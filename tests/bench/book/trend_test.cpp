#include "bench/book/trend.hpp"

#include <gtest/gtest.h>

#include <algorithm>

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

constexpr double limit = 0.05;

// Runs an hour apart from 8:00 on, each value with an interval of half a per cent either way.
std::vector<Run> runs_of_a_day(const std::vector<double>& miss_indices) {
    auto runs = runs_with(miss_indices);
    for (std::size_t i = 0; i < runs.size(); ++i) {
        runs[i].started = "2026-01-05T" + std::to_string(10 + i) + ":00:00Z";
        Quantity& found = runs[i].verdicts.front().quantities.back();
        found.low = std::max(0.0, found.value - 0.005);
        found.high = found.value + 0.005;
    }
    return runs;
}

TrendOf judged(std::vector<Note> notes = {}) {
    return {.unit = "U-1",
            .notes = std::move(notes),
            .limit_of = [](const Run&, measures::Quantity quantity) {
                return std::optional{verdict::Limit{quantity, limit}};
            }};
}

TEST(Trend, BeginsANewUsualRangeAtARepairAndSaysWhatItDid) {
    const auto runs = runs_of_a_day({0.09, 0.088, 0.091, 0.012, 0.010});
    const Note repair{"2026-01-05T12:30:00Z", NoteKind::repair, "U-1", "disc changed"};
    const Note other{"2026-01-05T11:30:00Z", NoteKind::repair, "U-2", "seal"};
    const Trend found = trend(runs, miss_index, judged({repair, other}));
    ASSERT_EQ(found.repairs.size(), 1U);
    EXPECT_EQ(found.repairs.front().before, 3U);
    ASSERT_TRUE(found.chart);
    EXPECT_NEAR(found.chart->centre, 0.011, 1e-12);
    EXPECT_EQ(found.chart->rests_on, 2U);
    EXPECT_TRUE(found.chart->signals.empty()) << "before and after are no one level";
    EXPECT_EQ(headline(found), "Fewer misses since run 4, after \"disc changed\"; within tolerance "
                               "since run 4.");
}

TEST(Trend, TakesChangesSmallAgainstTheToleranceForNoSignal) {
    std::vector<double> values(10, 0.0100);
    for (std::size_t i = 0; i < values.size(); ++i)
        values[i] += i % 2 == 0 ? 0.0001 : -0.0001;
    values.push_back(0.0150); // far out of the usual range, and a tenth of the tolerance
    EXPECT_FALSE(trend(runs_of_a_day(values), miss_index).chart->signals.empty());
    const Trend found = trend(runs_of_a_day(values), miss_index, judged());
    EXPECT_TRUE(found.chart->signals.empty());
    EXPECT_FALSE(found.changed_at);
    EXPECT_EQ(headline(found), "No change worth telling over 11 runs; within tolerance in all "
                               "runs.");
}

TEST(Trend, SaysMoreMissesAndSinceWhenTheUnitIsOutside) {
    const Trend found = trend(runs_of_a_day({0.01, 0.012, 0.08}), miss_index, judged());
    EXPECT_EQ(headline(found), "More misses since run 3; outside tolerance since run 3.");
}

TEST(Trend, TellsNoChangeFromOneRun) {
    EXPECT_EQ(headline(trend(runs_of_a_day({0.048}), miss_index, judged())),
              "One run: no change can be told yet; not decided by its limit since run 1.");
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
