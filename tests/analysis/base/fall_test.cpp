// Values: external checks, section 12a, recomputed with python; the 25 mm case is constructed (18
// mm is common knowledge of seeding: √(2·0.025/g) = 71.4 ms at 0.25 m/s).
#include "analysis/base/fall.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <stdexcept>
#include <vector>

using namespace dropledger;

namespace {
struct Case {
    double height_m, speed_mps, seconds, half_digit;
};
} // namespace

TEST(Fall, TakesTheHandbookTimeWithoutAir) {
    for (const Case& c : std::vector<Case>{{0.1, 0, 0.142809, 5e-7},
                                           {0.3, 0, 0.247352, 5e-7},
                                           {0.4, 0, 0.285617, 5e-7},
                                           {0.5, 0, 0.319330, 5e-7},
                                           {0.6, 0, 0.349808, 5e-7},
                                           {1.0, 0, 0.451601, 5e-7},
                                           {0.4, 0.5, 0.2391467, 5e-8},
                                           {0.3, 1.0, 0.1655750, 5e-8},
                                           {0.5, 2.0, 0.1749558, 5e-8}}) {
        EXPECT_NEAR(free_fall_seconds(c.height_m, c.speed_mps), c.seconds, c.half_digit);
        EXPECT_NEAR(free_fall_height_m(free_fall_seconds(c.height_m, c.speed_mps), c.speed_mps),
                    c.height_m, 1e-12);
    }
    EXPECT_NEAR(free_fall_end_speed_mps(0.4, 0), 2.80095, 5e-6);
    EXPECT_NEAR(free_fall_end_speed_mps(0.5, 0), 3.13156, 5e-6);
    EXPECT_NEAR(free_fall_end_speed_mps(1.0, 0), 4.42869, 5e-6);
}

TEST(Fall, TakesLongerThroughAir) {
    for (const Case& c : std::vector<Case>{{0.5, 5.6, 0.3277129, 5e-8},
                                           {0.5, 6.6, 0.3253532, 5e-8},
                                           {1.0, 5.6, 0.4754640, 5e-8},
                                           {0.5, 3.0, 0.3489595, 5e-8}}) {
        EXPECT_NEAR(drag_fall_seconds(c.height_m, c.speed_mps), c.seconds, c.half_digit);
        EXPECT_NEAR(drag_fall_height_m(c.seconds, c.speed_mps), c.height_m, 1e-6);
        EXPECT_GT(drag_fall_seconds(c.height_m, c.speed_mps), free_fall_seconds(c.height_m, 0));
    }
    EXPECT_NEAR(drag_fall_end_speed_mps(0.5, 5.6), 2.90196, 5e-6);
    EXPECT_NEAR(drag_fall_end_speed_mps(0.5, 6.6), 2.96330, 5e-6);
    EXPECT_NEAR(drag_fall_end_speed_mps(1.0, 5.6), 3.81855, 5e-6);
    EXPECT_NEAR(drag_fall_end_speed_mps(0.5, 3.0), 2.44396, 5e-6);
}

TEST(Fall, FromTwentyFiveMillimetresLandsEighteenOnAtAQuarterMetrePerSecond) {
    EXPECT_NEAR(free_fall_seconds(0.025, 0) * 0.25 * 1000.0, 18.0, 0.5);
}

TEST(Fall, NearsTheVacuumWhereTheTerminalSpeedIsHigh) {
    EXPECT_NEAR(drag_fall_seconds(0.5, 1e4), free_fall_seconds(0.5, 0), 1e-7);
    EXPECT_EQ(free_fall_seconds(0, 0), 0.0);
}

TEST(Fall, RefusesWhatCannotBe) {
    EXPECT_THROW(static_cast<void>(free_fall_seconds(-0.1, 0)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(drag_fall_seconds(0.5, 0)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(free_fall_seconds(std::numeric_limits<double>::quiet_NaN(), 0)),
                 std::invalid_argument);
}
