#include "bench/io/time_zones.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <ctime>

namespace dropledger::files {
namespace {

// Each as `TZ=NAME date -d @SECONDS +%z` prints it.
TEST(NamedZone, KnowsWhenClocksChange) {
    const auto berlin = named_zone("Europe/Berlin");
    ASSERT_TRUE(berlin) << berlin.error().message();
    EXPECT_EQ(berlin->minutes_at(1774745999.0), 60); // 2026-03-29 00:59:59 UTC
    EXPECT_EQ(berlin->minutes_at(1774746000.0), 120);
    EXPECT_EQ(berlin->minutes_at(1792889999.0), 120); // 2026-10-25 00:59:59 UTC
    EXPECT_EQ(berlin->minutes_at(1792890000.0), 60);
    const auto adelaide = named_zone("Australia/Adelaide");
    ASSERT_TRUE(adelaide) << adelaide.error().message();
    EXPECT_EQ(adelaide->minutes_at(1767225600.0), 630); // 2026-01-01, summer there
}

TEST(NamedZone, LeavesTheZoneOfTheProcessAsItWas) {
    ASSERT_EQ(::setenv("TZ", "Asia/Tokyo", 1), 0);
    ASSERT_TRUE(named_zone("America/New_York"));
    EXPECT_STREQ(std::getenv("TZ"), "Asia/Tokyo");
    const std::time_t time = 0;
    std::tm local{};
    ::localtime_r(&time, &local);
    EXPECT_EQ(local.tm_hour, 9);
}

TEST(NamedZone, RefusesWhatIsNone) {
    for (const char* const name :
         {"", "Europe/Atlantis", "../../etc/passwd", "/etc/passwd", "Europe", "tzdata.zi"})
        EXPECT_FALSE(named_zone(name)) << name;
}

} // namespace
} // namespace dropledger::files
