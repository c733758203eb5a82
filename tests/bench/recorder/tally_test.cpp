#include "bench/recorder/protocol/lines/tally.hpp"

#include <gtest/gtest.h>

namespace dropledger::recorder {
namespace {

class Live : public testing::Test {
protected:
    void drop(std::uint32_t tick_us, std::uint32_t count = 1) {
        take(
            droplog::drop_line({.seq = seq++, .tick_us = tick_us},
                               {.channel = 2, .index = index++, .position_um = 0, .count = count}));
    }
    void pulse(std::uint32_t tick_us, std::uint32_t gate = 0) {
        take(
            droplog::pulse_line({.seq = seq++, .tick_us = tick_us},
                                {.channel = 2, .gate = gate, .width_us = 900, .depth_milli = 400}));
    }
    void take(const std::string& line) { tally.take(droplog::decode(line), line); }
    [[nodiscard]] ChannelTally channel() const { return tally.channels().at(2); }

    LiveTally tally;
    std::uint32_t seq = 0;
    std::uint32_t index = 0;
};

TEST_F(Live, CountsMissesSinglesAndMultiplesBelowTheValve) {
    for (std::uint32_t k = 0; k < 4; ++k) {
        drop(k * 100'000);
        for (std::uint32_t seed = 0; seed < k % 3; ++seed)
            pulse(k * 100'000 + 20'000 + seed);
    }
    tally.finish();
    EXPECT_EQ(channel().drops, 4U);
    EXPECT_EQ(channel().settled, 4U);
    EXPECT_EQ(channel().miss, 2U);
    EXPECT_EQ(channel().exact, 1U);
    EXPECT_EQ(channel().over, 1U);
}

TEST_F(Live, SettlesADropOnlyWhenNoSeedCanComeAnyMore) {
    drop(0);
    drop(100'000);
    EXPECT_EQ(channel().settled, 0U);
    drop(200'000);
    EXPECT_EQ(channel().settled, 1U);
}

TEST_F(Live, PutsALateLineWhereItsTickBelongs) {
    drop(0);
    drop(100'000);
    pulse(99'000); // arrives after the next drop's line
    drop(200'000);
    drop(300'000);
    EXPECT_EQ(channel().exact, 1U);
    EXPECT_EQ(channel().miss, 1U);
}

TEST_F(Live, GivesSeedsSeenAboveTheValveToTheNextDrop) {
    tally.take_setting(2, "gate0_place", "above");
    pulse(10'000);
    drop(50'000);
    drop(150'000);
    pulse(149'000); // late on the wire, before its opening
    tally.finish();
    EXPECT_EQ(channel().exact, 2U);
}

TEST_F(Live, ComparesAPortionWithWhatWasAsked) {
    const std::uint32_t seeds[] = {0, 2, 3, 4};
    for (std::uint32_t k = 0; k < 4; ++k) {
        drop(k * 100'000, 3);
        for (std::uint32_t seed = 0; seed < seeds[k]; ++seed)
            pulse(k * 100'000 + 10'000 + seed);
    }
    tally.finish();
    EXPECT_EQ(channel().miss, 1U);
    EXPECT_EQ(channel().short_of, 1U);
    EXPECT_EQ(channel().exact, 1U);
    EXPECT_EQ(channel().over, 1U);
}

TEST_F(Live, JudgesByTheReferenceGateWhereItIsHeard) {
    drop(0);
    pulse(10'000, 0);
    pulse(11'000, 0);
    pulse(20'000, 1);
    tally.finish();
    EXPECT_EQ(channel().exact, 1U);
}

TEST_F(Live, RemembersTheLastFaultOfAChannel) {
    take(droplog::fault_line({.seq = 0, .tick_us = 0}, 2, "valve_stuck"));
    EXPECT_EQ(channel().last_fault, "valve_stuck");
}

} // namespace
} // namespace dropledger::recorder
