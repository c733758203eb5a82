#include "analysis/base/time_zone.hpp"

#include <gtest/gtest.h>

namespace dropledger {
namespace {

// Constructed: an hour ahead of UTC, two from second 1,000,000 to 2,000,000.
TimeZone with_summer() {
    return {"Here", {{0, 60}, {1'000'000, 120}, {2'000'000, 60}}};
}

TEST(TimeZone, GoesThereAndBackWhereTheClockIsPlain) {
    const TimeZone zone = with_summer();
    for (const double utc_s : {-5e6, 0.0, 500'000.0, 999'999.0, 1'000'000.0, 1'500'000.0,
                               1'996'399.0, 2'003'600.0, 3e6}) {
        const auto back = zone.from_local(zone.local_s(utc_s), utc_s);
        EXPECT_DOUBLE_EQ(back.utc_s, utc_s);
        EXPECT_FALSE(back.doubtful) << utc_s;
    }
}

TEST(TimeZone, TakesAnHourShownTwiceForTheOneThatGoesOn) {
    const TimeZone zone = with_summer();
    const double shown = zone.local_s(1'999'000.0); // and again an hour later
    EXPECT_DOUBLE_EQ(shown, zone.local_s(2'002'600.0));
    EXPECT_DOUBLE_EQ(zone.from_local(shown, 1'998'990.0).utc_s, 1'999'000.0);
    EXPECT_DOUBLE_EQ(zone.from_local(shown, 2'002'590.0).utc_s, 2'002'600.0);
    EXPECT_DOUBLE_EQ(zone.from_local(shown, 2'100'000.0).utc_s, 1'999'000.0); // hours away
    EXPECT_TRUE(zone.from_local(shown, 0.0).doubtful);
}

TEST(TimeZone, TakesAnHourLeftOutForAClockThatWasNotSet) {
    const auto time = with_summer().from_local(1'000'000.0 + 3600.0 + 600.0, 0.0);
    EXPECT_DOUBLE_EQ(time.utc_s, 1'000'600.0);
    EXPECT_TRUE(time.doubtful);
}

TEST(TimeZone, NamesAFixedOffset) {
    EXPECT_EQ(fixed_zone(-210).name, "UTC-03:30");
    EXPECT_EQ(fixed_zone(-210).minutes_at(1e9), -210);
}

} // namespace
} // namespace dropledger
