#include "bench/virtual/unit/flight.hpp"

#include <gtest/gtest.h>

namespace dropledger::bench_virtual {
namespace {

struct Case {
    const char* name;
    Fall fall;
    double seconds;
    double tolerance; // half a unit of the last printed digit
};

class FreeFall : public testing::TestWithParam<Case> {};

// [recomputed] external checks 12a: sqrt(2h/g); with exit speed; with quadratic drag from rest.
TEST_P(FreeFall, TakesThePublishedTime) {
    EXPECT_NEAR(fall_seconds(GetParam().fall), GetParam().seconds, GetParam().tolerance);
}

INSTANTIATE_TEST_SUITE_P(ExternalChecks12a, FreeFall,
                         testing::Values(Case{"h100mm", {0.1, 0.0, 0.0}, 0.142809, 5e-7},
                                         Case{"h300mm", {0.3, 0.0, 0.0}, 0.247352, 5e-7},
                                         Case{"h400mm", {0.4, 0.0, 0.0}, 0.285617, 5e-7},
                                         Case{"h500mm", {0.5, 0.0, 0.0}, 0.319330, 5e-7},
                                         Case{"h600mm", {0.6, 0.0, 0.0}, 0.349808, 5e-7},
                                         Case{"h1m", {1.0, 0.0, 0.0}, 0.451601, 5e-7},
                                         Case{"exit500mmps", {0.4, 0.5, 0.0}, 0.2391467, 5e-8},
                                         Case{"exit1mps", {0.3, 1.0, 0.0}, 0.1655750, 5e-8},
                                         Case{"exit2mps", {0.5, 2.0, 0.0}, 0.1749558, 5e-8},
                                         Case{"drag5600", {0.5, 0.0, 5.6}, 0.3277129, 5e-8},
                                         Case{"drag6600", {0.5, 0.0, 6.6}, 0.3253532, 5e-8},
                                         Case{"drag5600h1m", {1.0, 0.0, 5.6}, 0.4754640, 5e-8},
                                         Case{"drag3000", {0.5, 0.0, 3.0}, 0.3489595, 5e-8}),
                         [](const auto& row) { return std::string(row.param.name); });

TEST(FreeFallSpeed, IsAsPublished) {
    // [recomputed] external checks 12a
    EXPECT_NEAR(fall_end_speed_mps({0.4, 0.0, 0.0}), 2.80095, 5e-6);
    EXPECT_NEAR(fall_end_speed_mps({0.5, 0.0, 5.6}), 2.90196, 5e-6);
    EXPECT_NEAR(fall_end_speed_mps({0.5, 0.0, 6.6}), 2.96330, 5e-6);
    EXPECT_NEAR(fall_end_speed_mps({1.0, 0.0, 5.6}), 3.81855, 5e-6);
    EXPECT_NEAR(fall_end_speed_mps({0.5, 0.0, 3.0}), 2.44396, 5e-6);
}

// With an exit speed and drag together: integrating the equation of motion in small steps.
TEST(FreeFall, AgreesWithStepwiseIntegrationUnderDragAndExitSpeed) {
    constexpr double g = 9.80665;
    constexpr double step_s = 1e-7;
    double height_m = 0.0;
    double speed_mps = 0.8;
    double passed_s = 0.0;
    while (height_m < 0.45) {
        const double middle = speed_mps + 0.5 * step_s * g * (1.0 - speed_mps * speed_mps / 16.0);
        height_m += step_s * middle;
        speed_mps += step_s * g * (1.0 - middle * middle / 16.0);
        passed_s += step_s;
    }
    EXPECT_NEAR(fall_seconds({0.45, 0.8, 4.0}), passed_s, 2e-7);
    EXPECT_NEAR(fall_end_speed_mps({0.45, 0.8, 4.0}), speed_mps, 2e-6);
}

TEST(FreeFall, FromNoHeightTakesNoTime) {
    EXPECT_DOUBLE_EQ(fall_seconds({0.0, 0.0, 0.0}), 0.0);
    EXPECT_NEAR(fall_seconds({0.0, 0.3, 5.0}), 0.0, 1e-12);
}

} // namespace
} // namespace dropledger::bench_virtual
