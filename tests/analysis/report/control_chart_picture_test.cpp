#include "analysis/report/pictures/control_chart.hpp"

#include <gtest/gtest.h>

#include <string>

namespace dropledger::report::pictures {

namespace {

std::size_t count_of(const std::string& text, std::string_view part) {
    std::size_t found = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1))
        ++found;
    return found;
}

const std::vector<double> rising{0.010, 0.012, 0.009, 0.011, 0.010,
                                 0.013, 0.015, 0.018, 0.021, 0.030};

} // namespace

TEST(ControlChartPicture, MarksEveryPointOnceAndSignalsInWords) {
    const auto chart = statistics::individuals_chart(rising, {.least = 0.0, .most = 1.0});
    ASSERT_TRUE(chart);
    ASSERT_FALSE(chart->signals.empty());
    const std::string svg = control_chart(
        *chart, {.what = "misses, %", .of_time = "batches", .factor = 100.0, .names = {}});
    EXPECT_EQ(count_of(svg, "<use "), rising.size());
    EXPECT_EQ(count_of(svg, "<title>Value "), rising.size());
    EXPECT_NE(svg.find("<title>Value 10: 3</title>"), std::string::npos);
    EXPECT_NE(svg.find("A: Value"), std::string::npos);
    EXPECT_NE(svg.find("usual at most"), std::string::npos);
}

TEST(ControlChartPicture, NamesTheFirstAndLastValueOfASignal) {
    const auto chart = statistics::individuals_chart(rising);
    ASSERT_TRUE(chart);
    std::vector<std::string> names;
    for (std::size_t i = 0; i < rising.size(); ++i)
        names.push_back("B<" + std::to_string(i + 1) + ">");
    const auto sentences = control_sentences(*chart, names);
    EXPECT_NE(sentences.front().find("B<"), std::string::npos);
    EXPECT_NE(sentences.back().find("rests on 10 values"), std::string::npos);
    const std::string svg =
        control_chart(*chart, {.what = "w", .of_time = "t", .factor = 1.0, .names = names});
    EXPECT_EQ(svg.find("B<1>"), std::string::npos); // escaped
    EXPECT_NE(svg.find("B&lt;1&gt;"), std::string::npos);
}

TEST(ControlChartPicture, DrawsTheToleranceAndWhereARepairWas) {
    const std::vector<double> values{0.09, 0.08, 0.09, 0.01, 0.012};
    const auto chart = statistics::chart_by_stretches(values, std::vector<std::size_t>{3});
    ASSERT_TRUE(chart);
    const std::string svg = control_chart(*chart, {.what = "misses, %",
                                                   .of_time = "runs",
                                                   .factor = 100.0,
                                                   .names = {},
                                                   .limits = {0.05},
                                                   .repairs = {{3, "disc <changed>"}}});
    EXPECT_NE(svg.find("tolerance"), std::string::npos);
    EXPECT_NE(svg.find("disc &lt;changed&gt;"), std::string::npos);
}

TEST(ControlChartPicture, SaysSoWhereNothingSignals) {
    const auto chart = statistics::individuals_chart(std::vector<double>(25, 2.0));
    ASSERT_TRUE(chart);
    EXPECT_EQ(control_sentences(*chart, {}).size(), 1U);
    EXPECT_EQ(control_sentences(*chart, {})[0].find("No signal"), 0U);
    EXPECT_EQ(control_chart(*chart, {.what = "w", .of_time = "t", .factor = 1.0, .names = {}})
                  .find("nan"),
              std::string::npos);
}

} // namespace dropledger::report::pictures
