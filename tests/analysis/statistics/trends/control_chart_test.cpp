#include "analysis/statistics/trends/control_chart.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger::statistics;

// NIST e-Handbook 6.3.2.2, flow rate of ten batches (data and results from memory, recomputed: mean
// 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041, which rest on d2 = 1.128).
TEST(IndividualsChart, ReproducesTheHandbooksFlowRates) {
    const double flow[] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    const auto chart = individuals_chart(flow);
    ASSERT_TRUE(chart);
    EXPECT_NEAR(chart->centre, 50.81, 0.5e-2);
    EXPECT_NEAR(chart->mean_moving_range, 1.8778, 0.5e-4);
    const double exact_d2 = 2.0 / std::sqrt(std::acos(-1.0));
    EXPECT_NEAR(*chart->points[0].lower, 50.81 - (50.81 - 45.8159) * 1.128 / exact_d2, 0.5e-4);
    EXPECT_NEAR(*chart->points[9].upper, 50.81 + (55.8041 - 50.81) * 1.128 / exact_d2, 0.5e-4);
    EXPECT_NEAR(chart->moving_range_limit, 3.267 * 1.87778, 0.5e-4);
    EXPECT_FALSE(chart->points[0].moving_range);
    EXPECT_NEAR(*chart->points[1].moving_range, 2.0, 1e-9);
    EXPECT_TRUE(chart->signals.empty()); // the handbook: the process is in control
    EXPECT_TRUE(chart->provisional());
}

// Constructed: quiet for 15 values, then two standard deviations of the quiet part higher.
TEST(IndividualsChart, SeesAShiftOfLevel) {
    std::vector<double> values;
    for (int i = 0; i < 15; ++i)
        values.push_back(10.0 + 0.1 * (i % 3));
    for (int i = 0; i < 15; ++i)
        values.push_back(10.6 + 0.1 * (i % 3));
    const auto chart = individuals_chart(values);
    ASSERT_TRUE(chart);
    EXPECT_FALSE(chart->provisional());
    bool eight = false;
    for (const ControlSignal& signal : chart->signals)
        eight = eight || (signal.rule == ControlRule::eight_on_one_side && signal.first == 15 &&
                          signal.last == 29);
    EXPECT_TRUE(eight);
}

// Constructed: mean moving range (0.1·8 + 2·1.0)/10 … of one lone value between equal ones.
TEST(IndividualsChart, CallsAWideMovingRangeByItsNeighbours) {
    const double values[] = {1.0, 1.1, 1.0, 1.1, 1.0, 3.0, 1.1, 1.0, 1.1, 1.0, 1.1};
    const auto chart = individuals_chart(values);
    ASSERT_TRUE(chart);
    std::vector<std::size_t> wide;
    for (const ControlSignal& signal : chart->signals)
        if (signal.rule == ControlRule::wide_moving_range)
            wide.push_back(signal.first);
    EXPECT_EQ(wide, (std::vector<std::size_t>{4, 5}));
}

TEST(IndividualsChart, IsNotDefinedForOneValueAndSilentWithoutSpread) {
    EXPECT_FALSE(individuals_chart(std::vector<double>{1.0}));
    EXPECT_FALSE(individuals_chart({}));
    const auto flat = individuals_chart(std::vector<double>(30, 0.1));
    ASSERT_TRUE(flat);
    EXPECT_EQ(flat->sigma, 0.0);
    EXPECT_TRUE(flat->signals.empty());
}

TEST(IndividualsChart, HasNoLimitWhereTheQuantityCannotGo) {
    const double shares[] = {0.01, 0.0, 0.02, 0.01, 0.03};
    const auto chart = individuals_chart(shares, {.least = 0.0, .most = 1.0});
    ASSERT_TRUE(chart);
    EXPECT_FALSE(chart->points[0].lower);
    EXPECT_TRUE(chart->points[0].upper);
}

// Shifting and scaling the values moves centre and limits alike and changes no signal.
TEST(IndividualsChart, IsTheSameInEveryUnit) {
    const double values[] = {49.6, 47.6, 47.9, 48.3, 48.8, 49.2, 49.6, 49.4, 49.0, 52.1};
    std::vector<double> other;
    for (const double value : values)
        other.push_back(1.8 * value + 32.0);
    const auto one = individuals_chart(values);
    const auto two = individuals_chart(other);
    ASSERT_TRUE(one && two);
    EXPECT_NEAR(two->centre, 1.8 * one->centre + 32.0, 1e-9);
    EXPECT_NEAR(*two->points[0].upper, 1.8 * *one->points[0].upper + 32.0, 1e-9);
    ASSERT_EQ(one->signals.size(), two->signals.size());
    EXPECT_FALSE(one->signals.empty());
}
