#include "bench/virtual/unit/gate.hpp"

#include <gtest/gtest.h>

namespace dropledger::bench_virtual {
namespace {

// A gate without scatter: a seed of 2 mm at 2 m/s in a sheet of 2 mm is dark for 2000 µs.
GateSpec plain() {
    GateSpec spec;
    spec.beam_mm = 2.0;
    spec.width_log_sd = 0.0;
    spec.depth_log_sd = 0.0;
    spec.dead_us = 100;
    return spec;
}

class Crossings : public testing::Test {
protected:
    void see(Gate& gate, double at_us, std::int64_t owner) {
        ASSERT_TRUE(
            gate.cross({.at_us = at_us, .seed_mm = 2.0, .owner = owner, .ordinal = owner}, random));
    }
    Random random{1, 1};
};

using GateTest = Crossings;

TEST_F(GateTest, SeesTwoSeedsApartAsTwoPulses) {
    Gate gate(plain(), 2.0);
    see(gate, 1000.0, 0);
    see(gate, 3200.0, 1);
    gate.settle(1e9);
    const auto pulses = gate.pulses();
    ASSERT_EQ(pulses.size(), 2U);
    EXPECT_NEAR(pulses[0].width_us, 2000.0, 1e-9);
    EXPECT_NEAR(pulses[0].depth, 1.0 - 0.36787944117,
                1e-9); // 1 - 1/e where the seed is as wide as the beam
    EXPECT_EQ(pulses[1].owner, 1);
}

TEST_F(GateTest, MergesOverlappingSeedsIntoOneLongerAndDeeperPulse) {
    Gate gate(plain(), 2.0);
    see(gate, 1000.0, 4);
    see(gate, 2500.0, 5);
    gate.settle(1e9);
    const auto pulses = gate.pulses();
    ASSERT_EQ(pulses.size(), 1U);
    EXPECT_EQ(pulses[0].seeds, 2U);
    EXPECT_EQ(pulses[0].owner, 4);
    EXPECT_NEAR(pulses[0].width_us, 3500.0, 1e-9);
    EXPECT_NEAR(pulses[0].depth, 1.0 - 0.36787944117 * 0.36787944117, 1e-9);
    const auto ends = gate.ends();
    ASSERT_EQ(ends.size(), 2U);
    EXPECT_TRUE(ends[0].starts_pulse);
    EXPECT_FALSE(ends[1].starts_pulse);
}

TEST_F(GateTest, IsBlindDuringItsDeadTime) {
    Gate gate(plain(), 2.0);
    see(gate, 1000.0, 0);
    see(gate, 3050.0, 1); // 50 µs after the pulse ended
    see(gate, 5500.0, 2);
    gate.settle(1e9);
    const auto pulses = gate.pulses();
    ASSERT_EQ(pulses.size(), 2U);
    EXPECT_EQ(pulses[1].owner, 2);
    EXPECT_EQ(gate.ends().size(), 3U);
}

TEST_F(GateTest, KeepsAPulseOpenUntilNothingCanJoinIt) {
    Gate gate(plain(), 2.0);
    see(gate, 1000.0, 0);
    gate.settle(2000.0);
    EXPECT_TRUE(gate.pulses().empty());
    EXPECT_EQ(gate.open_since(), 1000.0);
    see(gate, 2900.0, 1);
    gate.settle(1e9);
    const auto pulses = gate.pulses();
    ASSERT_EQ(pulses.size(), 1U);
    EXPECT_EQ(pulses[0].seeds, 2U);
}

TEST_F(GateTest, DoesNotReportPulsesUnderItsThreshold) {
    GateSpec spec = plain();
    spec.threshold_milli = 700;
    Gate gate(spec, 2.0);
    see(gate, 1000.0, 0);
    gate.settle(1e9);
    EXPECT_TRUE(gate.pulses().empty());
    EXPECT_FALSE(gate.ends().at(0).starts_pulse);
}

TEST_F(GateTest, FadesFromTheFirstToTheLastDropOfItsFade) {
    GateSpec spec = plain();
    spec.fade = {.from_drop = 100, .to_drop = 200, .detection = 1.0, .depth = 0.5};
    Gate gate(spec, 2.0);
    for (const std::int64_t drop : {50, 150, 250})
        see(gate, static_cast<double>(drop) * 10000.0, drop);
    gate.settle(1e9);
    const auto pulses = gate.pulses();
    ASSERT_EQ(pulses.size(), 3U);
    EXPECT_NEAR(pulses[1].depth / pulses[0].depth, 0.75, 1e-9);
    EXPECT_NEAR(pulses[2].depth / pulses[0].depth, 0.5, 1e-9);
}

TEST_F(GateTest, CountsDustAsAPulseWithoutSeed) {
    Gate gate(plain(), 2.0);
    gate.debris(500.0, -2, random);
    gate.settle(1e9);
    const auto pulses = gate.pulses();
    ASSERT_EQ(pulses.size(), 1U);
    EXPECT_EQ(pulses[0].seeds, 0U);
}

} // namespace
} // namespace dropledger::bench_virtual
