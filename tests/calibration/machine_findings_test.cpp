#include "calibration/machine/findings.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {

using droplog::GatePlace;
using Kinds = std::vector<FindingKind>;

constexpr std::int64_t quarter_metre_um_s = 250'000;

// A unit whose gate 0 is above the valve and gate 1 below it, both seeing all of 20 drops.
FewDrops healthy(int channel, double offset_mm = 0.0) {
    FewDrops unit;
    unit.channel = channel;
    unit.unit = "U-" + std::to_string(channel);
    unit.drops = 20;
    unit.gates[{channel, 0}] = {.pulses = 20, .before_first_drop = 1, .after_last_drop = 0};
    unit.gates[{channel, 1}] = {.pulses = 20, .before_first_drop = 0, .after_last_drop = 1};
    unit.stated = {{0, GatePlace::above}, {1, GatePlace::below}};
    unit.offset_mm = statistics::Estimate{
        .value = offset_mm, .interval = statistics::Interval{offset_mm - 1.0, offset_mm + 1.0}};
    return unit;
}

Kinds kinds_of(const std::vector<Finding>& findings) {
    Kinds kinds;
    for (const Finding& one : findings)
        kinds.push_back(one.kind);
    return kinds;
}

std::vector<Finding> find(const std::vector<FewDrops>& units) {
    return machine_findings(units, quarter_metre_um_s);
}

} // namespace

TEST(MachineFindings, SayNothingOfAHealthyMachine) {
    EXPECT_TRUE(find({healthy(0), healthy(1, 1.0), healthy(2, -1.5)}).empty());
}

TEST(MachineFindings, NameTheGateThatSeesAnotherUnitsSeed) {
    FewDrops one = healthy(0);
    FewDrops two = healthy(1);
    std::swap(one.gates[{1, 1}], one.gates[{0, 1}]);
    std::swap(two.gates[{0, 1}], two.gates[{1, 1}]);
    one.gates.erase({0, 1});
    two.gates.erase({1, 1});
    const auto found = find({one, two, healthy(2)});
    EXPECT_EQ(kinds_of(found),
              (Kinds{FindingKind::plugged_elsewhere, FindingKind::plugged_elsewhere}));
    EXPECT_EQ(found[0].what,
              "U-0 (channel 0) drops, and its seed is seen by gate 1 of U-1 (channel 1).");
}

TEST(MachineFindings, TellADeadGateFromAnEmptyHopper) {
    FewDrops dead = healthy(0);
    dead.gates.erase({0, 1});
    EXPECT_EQ(kinds_of(find({dead})), Kinds{FindingKind::gate_silent});
    FewDrops empty = healthy(0);
    empty.gates.clear();
    EXPECT_EQ(kinds_of(find({empty})), Kinds{FindingKind::no_seed});
}

TEST(MachineFindings, NameAGateThatSeesLittleOnlyWhereTheOtherSawMore) {
    FewDrops dusty = healthy(0);
    dusty.gates[{0, 1}].pulses = 12;
    EXPECT_EQ(kinds_of(find({dusty})), Kinds{FindingKind::gate_sees_little});
    dusty.gates[{0, 0}].pulses = 12; // the unit misses, the gates are good
    EXPECT_TRUE(find({dusty}).empty());
}

TEST(MachineFindings, ContradictAPlaceByTheFirstAndTheLastSeed) {
    FewDrops wrong = healthy(0);
    wrong.stated[0] = GatePlace::below;
    const auto found = find({wrong});
    ASSERT_EQ(kinds_of(found), Kinds{FindingKind::place_contradicted});
    EXPECT_NE(found[0].remedy.find("it seems to sit above: set gate0_place"), std::string::npos);
    wrong.gates[{0, 0}] = {.pulses = 20, .before_first_drop = 1, .after_last_drop = 1};
    EXPECT_TRUE(find({wrong}).empty()); // it could be either
}

TEST(MachineFindings, AskForThePlaceOfAGateThatSeesSeed) {
    FewDrops unsaid = healthy(0);
    unsaid.stated.erase(1);
    const auto found = find({unsaid});
    ASSERT_EQ(kinds_of(found), Kinds{FindingKind::place_unstated});
    EXPECT_NE(found[0].remedy.find("sits below the valve"), std::string::npos);
}

TEST(MachineFindings, CallOneNumberWrongWhereAllUnitsLandOffAlike) {
    const auto found = find({healthy(0, 14.2), healthy(1, 13.6), healthy(2, 15.0)});
    ASSERT_EQ(kinds_of(found), Kinds{FindingKind::all_off_alike});
    EXPECT_FALSE(found[0].channel.has_value());
    EXPECT_EQ(found[0].what, "All 3 units land off alike: 14.2 mm late, which is 57 ms at this "
                             "speed. One number that they share is wrong.");
    EXPECT_NE(found[0].remedy.find("a lead that is too short"), std::string::npos);
}

TEST(MachineFindings, CallAUnitOffWhereTheOthersAreNot) {
    const auto found = find({healthy(0, -14.0), healthy(1, 0.5), healthy(2, -0.5)});
    ASSERT_EQ(kinds_of(found), Kinds{FindingKind::one_off});
    EXPECT_EQ(found[0].channel, 0);
    EXPECT_NE(found[0].what.find("14.0 mm early"), std::string::npos);
}

TEST(MachineFindings, CallNothingSharedOfUnitsThatAreOffDifferently) {
    EXPECT_EQ(kinds_of(find({healthy(0, 20.0), healthy(1, 6.0), healthy(2, 12.0)})),
              (Kinds{FindingKind::one_off, FindingKind::one_off, FindingKind::one_off}));
}

TEST(MachineFindings, SayNothingOfPlacesThatNobodyMeasured) {
    FewDrops counts_only = healthy(0);
    counts_only.offset_mm.reset();
    EXPECT_TRUE(find({counts_only}).empty());
}
