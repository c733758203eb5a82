#include "bench/virtual/unit/travel.hpp"

#include <gtest/gtest.h>

namespace dropledger::bench_virtual {
namespace {

TEST(Travel, WithoutRippleIsSpeedTimesTime) {
    const Travel travel({.speed_um_s = 250000, .ripple = 0.0, .period_s = 1.0});
    EXPECT_DOUBLE_EQ(travel.position_um(3e6), 750000.0);
    EXPECT_DOUBLE_EQ(travel.time_us(750000.0), 3e6);
}

// [constructed] 25 mm of free fall at 0.25 m/s: 0.0714 s and 18 mm (common practice fact of the
// trade).
TEST(Travel, CarriesASeedEighteenMillimetresWhileItFallsTwentyFive) {
    const Travel travel({.speed_um_s = 250000, .ripple = 0.0, .period_s = 1.0});
    EXPECT_NEAR(travel.position_um(71404.5), 18000.0, 500.0);
}

TEST(Travel, RippleLeavesTheMeanSpeedAlone) {
    const Travel travel({.speed_um_s = 250000, .ripple = 0.1, .period_s = 1.3});
    EXPECT_NEAR(travel.position_um(10 * 1.3e6), 250000.0 * 13.0, 1e-3);
}

TEST(Travel, SpeedIsTheSlopeOfPosition) {
    const Travel travel({.speed_um_s = 500000, .ripple = 0.1, .period_s = 1.3});
    for (double at = 1000.0; at < 3e6; at += 77777.0) {
        const double slope =
            (travel.position_um(at + 50.0) - travel.position_um(at - 50.0)) / 100.0;
        EXPECT_NEAR(travel.speed_um_per_us(at), slope, 1e-5) << at;
        EXPECT_GE(travel.speed_um_per_us(at), 0.45 - 1e-12);
        EXPECT_LE(travel.speed_um_per_us(at), 0.55 + 1e-12);
    }
}

TEST(Travel, TimeIsTheInverseOfPosition) {
    const Travel travel({.speed_um_s = 250000, .ripple = 0.2, .period_s = 0.7});
    for (double at = 0.0; at < 1e9; at += 33333333.3)
        EXPECT_NEAR(travel.time_us(travel.position_um(at)), at, 0.01) << at;
}

} // namespace
} // namespace dropledger::bench_virtual
