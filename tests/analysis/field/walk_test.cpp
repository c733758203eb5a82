#include "analysis/field/alerts.hpp"
#include "analysis/field/route.hpp"

#include <gtest/gtest.h>

#include <numeric>

namespace dropledger::field {
namespace {

std::vector<Gap> gaps_at(const std::vector<Place>& places) {
    std::vector<Gap> gaps;
    for (const Place& at : places) {
        Gap gap;
        gap.from = gap.to = at;
        gaps.push_back(gap);
    }
    return gaps;
}

TEST(Walk, GoesAlongAStraightLineOnceHoweverItIsListed) {
    const auto gaps = gaps_at({{0, 0}, {40, 0}, {10, 0}, {30, 0}, {20, 0}}); // constructed
    std::vector<std::size_t> stops(gaps.size());
    std::iota(stops.begin(), stops.end(), std::size_t{0});
    const Walk walk = walk_to(gaps, stops, false);
    EXPECT_NEAR(walk.way_m, 40.0, 1e-9);
    EXPECT_NEAR(walk.way_in_list_order_m, 40 + 30 + 20 + 10, 1e-9);
    EXPECT_EQ(walk.stops.size(), stops.size());
}

TEST(Walk, HasNoWayWithoutStops) {
    EXPECT_EQ(walk_to({}, {}, true).way_m, 0.0);
    EXPECT_EQ(walk_to(gaps_at({{1, 2}}), {0}, false).way_m, 0.0);
}

// '.' seen, 'o' silent, '!' seen with an alert, '*' silent with an alert.
AlertCounts counted(const std::string& drops, int times) {
    AlertCounts counts;
    for (int pass = 1; pass <= times; ++pass) {
        std::vector<FieldDrop> line;
        for (const char c : drops) {
            FieldDrop drop;
            drop.drop = static_cast<std::int64_t>(line.size());
            drop.seen = c == 'o' || c == '*' ? 0 : 1;
            drop.alert = c == '!' || c == '*';
            line.push_back(drop);
        }
        counts.add({pass, 1}, line);
    }
    return counts;
}

TEST(AlertDelay, IsNoneWhereAlertsStandAtSilentDrops) {
    EXPECT_EQ(counted("...oo*...oo*oo...", 5).delay()->drops, 0);
}

TEST(AlertDelay, IsLearntFromWhereTheyStandBehindRunsOfOneLength) {
    const auto delay = counted("....ooo.......!....ooooo.....!...........", 6).delay();
    ASSERT_TRUE(delay); // eight drops behind the third silent one, whether the run goes on or not
    EXPECT_EQ(delay->drops, 8);
}

TEST(AlertDelay, IsNotKnownFromAFew) {
    EXPECT_FALSE(counted("..ooo....!..", 2).delay());
}

} // namespace
} // namespace dropledger::field
