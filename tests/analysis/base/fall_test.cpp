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
    }
}

TEST(Fall, TakesLongerThroughAir) {
    for (const Case& c : std::vector<Case>{{0.5, 5.6, 0.3277129, 5e-8},
                                           {0.5, 6.6, 0.3253532, 5e-8},
                                           {1.0, 5.6, 0.4754640, 5e-8},
                                           {0.5, 3.0, 0.3489595, 5e-8}}) {
        EXPECT_NEAR(drag_fall_seconds(c.height_m, c.speed_mps), c.seconds, c.half_digit);
        EXPECT_GT(drag_fall_seconds(c.height_m, c.speed_mps), free_fall_seconds(c.height_m, 0));
    }
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
