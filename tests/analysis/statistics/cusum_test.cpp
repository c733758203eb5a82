#include "analysis/statistics/cusum.hpp"

#include <gtest/gtest.h>

using namespace dropledger::statistics;

// NIST e-Handbook 6.3.2.3 (data and table from memory, recomputed).
TEST(Cusum, ReproducesTheHandbookTable) {
    const double values[] = {324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125,
                             324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250,
                             327.825, 328.500, 326.675, 327.775, 326.875, 328.350};
    const double high[] = {0,      0,       0,       0,       0.0325,  0,      0,
                           0,      0,       0,       0,       0,       3.0075, 4.9400,
                           7.4475, 10.6300, 11.9875, 14.4450, 16.0025, 19.0350};
    const double low[] = {0,      0.0075, 0, 0.3325, 0, 0, 0.5575, 0.7150, 0.1725, 0.2550,
                          0.3125, 0,      0, 0,      0, 0, 0,      0,      0,      0};
    const Cusum found = cusum(values, {.target = 325.0, .allowance = 0.3175, .limit = 4.1959});
    ASSERT_EQ(found.points.size(), 20U);
    for (std::size_t i = 0; i < 20; ++i) {
        EXPECT_NEAR(found.points[i].high, high[i], 0.5e-4) << i;
        EXPECT_NEAR(found.points[i].low, low[i], 0.5e-4) << i;
    }
    EXPECT_EQ(found.first_signal, 13U); // item 14
    EXPECT_FALSE(cusum({}, {}).first_signal);
}

// NIST 6.3.2.3.1 (memory): two-sided 168 and 465 without a shift; others recomputed by a chain of
// 401 states.
TEST(Cusum, HasTheTabulatedRunLengths) {
    EXPECT_NEAR(average_run_length_two_sided({0.5, 4.0, 0.0}), 167.7, 0.05);
    EXPECT_NEAR(average_run_length_two_sided({0.5, 5.0, 0.0}), 465.4, 0.05);
    EXPECT_NEAR(average_run_length_two_sided({0.5, 4.0, 0.5}), 26.6, 0.5e-1);
    EXPECT_NEAR(average_run_length({0.5, 4.0, 1.0}), 8.38, 0.5e-2);
    EXPECT_NEAR(average_run_length({0.5, 4.0, 4.0}), 1.71, 0.5e-2);
}
