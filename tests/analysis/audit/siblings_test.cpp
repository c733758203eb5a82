// Machines of six units with known faults; binomial counts and normal places at fixed seeds.
#include "analysis/audit/siblings.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <random>

using namespace dropledger;
using namespace dropledger::audit;

namespace {

struct Unit {
    double miss = 0.02;
    double multiple = 0.02;
    double offset_mm = 3.0;
};

audit::ChannelReport channel_of(int number, const Unit& unit, std::mt19937_64& random) {
    constexpr int drops = 500;
    constexpr double scatter_mm = 8.0;
    std::normal_distribution<double> normal;
    audit::ChannelReport channel;
    channel.channel = number;
    channel.table.drops = drops;
    channel.table.miss = std::binomial_distribution<std::int64_t>{drops, unit.miss}(random);
    const std::int64_t landed = drops - channel.table.miss;
    channel.table.multiple =
        std::binomial_distribution<std::int64_t>{landed, unit.multiple}(random);
    channel.table.single = landed - channel.table.multiple;
    const auto n = static_cast<double>(landed);
    measures::PlacementResult placement;
    const Confidence confidence{0.95};
    placement.bias_mm = statistics::Estimate{
        unit.offset_mm + scatter_mm / std::sqrt(n) * normal(random), std::nullopt, confidence, ""};
    placement.sd_mm = statistics::Estimate{scatter_mm * (1.0 + normal(random) / std::sqrt(2.0 * n)),
                                           std::nullopt, confidence, ""};
    channel.placement = placement;
    return channel;
}

std::vector<audit::ChannelReport> machine(const std::vector<Unit>& units, std::uint64_t seed) {
    std::mt19937_64 random{seed};
    std::vector<audit::ChannelReport> channels;
    for (const Unit& unit : units)
        channels.push_back(channel_of(static_cast<int>(channels.size()), unit, random));
    return channels;
}

} // namespace

TEST(Siblings, NameOneBadUnitOfSixAndOnlyThatOne) {
    for (const Unit& bad :
         std::vector<Unit>{{.miss = 0.15}, {.multiple = 0.15}, {.offset_mm = 9.0}}) {
        int right = 0;
        for (std::uint64_t seed = 1; seed <= 100; ++seed) {
            std::vector<Unit> units(6);
            units[3] = bad;
            right += compare_siblings(machine(units, seed)).unlike == std::vector<int>{3};
        }
        EXPECT_GE(right, 90); // others are named by chance in at most 5 of 100
    }
}

TEST(Siblings, NameTwoBadUnits) {
    std::vector<Unit> units(6);
    units[1].miss = 0.2;
    units[4].offset_mm = -20.0;
    EXPECT_EQ(compare_siblings(machine(units, 3)).unlike, (std::vector<int>{1, 4}));
}

// Prints the table of analysis/report/README.md.
TEST(Siblings, RaiseFewFalseAlarmsOverHealthyMachines) {
    constexpr int machines = 1000;
    const double error = std::sqrt(family_error * (1.0 - family_error) / machines);
    for (const Unit& unit : std::vector<Unit>{{}, {.miss = 0.005, .multiple = 0.005}}) {
        int alarms = 0;
        for (std::uint64_t seed = 1; seed <= machines; ++seed)
            alarms += !compare_siblings(machine(std::vector<Unit>(6, unit), seed)).unlike.empty();
        EXPECT_LE(static_cast<double>(alarms) / machines, family_error + 2.0 * error);
        EXPECT_GT(alarms, 0); // a comparison that never alarms compares nothing
        std::printf("| %.1f | %.1f | %.1f |\n", 100.0 * unit.miss, 100.0 * unit.multiple,
                    100.0 * alarms / machines);
    }
}

TEST(Siblings, CannotTellWhichOfTwoIsTheOddOne) {
    EXPECT_EQ(compare_siblings(machine({{}, {.miss = 0.2}}, 5)).unlike, (std::vector<int>{0, 1}));
}

TEST(Siblings, SayNothingOfOneChannel) {
    const audit::Siblings alone = compare_siblings(machine({{}}, 1));
    EXPECT_TRUE(alone.unlike.empty());
    EXPECT_FALSE(alone.method.empty());
}
