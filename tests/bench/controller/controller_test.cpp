#include "bench/controller/core/controller.hpp"

#include "small_bench.hpp"

#include "analysis/droplog/line.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

namespace dropledger::controller {
namespace {

constexpr std::uint32_t second = 1000000;
constexpr const char* good_arm = "arm,single,100000,1,250000,3,6";

class ControllerDesk : public testing::Test {
protected:
    // With an `alive` every half second and everything acknowledged, as a host does.
    void pass(std::uint32_t us) {
        for (std::uint32_t passed = 0; passed < us; passed += second / 2) {
            bench.send("alive");
            bench.advance(std::min(us - passed, second / 2));
            collect();
        }
    }
    void collect() {
        for (const std::string& line : bench.take_lines()) {
            const auto record = droplog::decode(line);
            ASSERT_TRUE(record.from_controller()) << line;
            lines.push_back(line);
            records.push_back(record);
        }
        if (!records.empty() && acknowledges)
            bench.send("ack," + std::to_string(records.back().seq));
    }
    void start(const std::string& arm = good_arm) {
        bench.send(arm);
        bench.send("go");
        collect();
    }
    // Without SEQ and TICK: `name,rest`.
    std::vector<std::string> said(const std::string& name) {
        std::vector<std::string> found;
        for (const std::string& line : lines) {
            const auto fields = droplog::fields_of(*droplog::checked_body(line));
            if (fields[0] != name)
                continue;
            std::string rest = name;
            for (std::size_t i = 3; i < fields.size(); ++i)
                rest += "," + std::string(fields[i]);
            found.push_back(rest);
        }
        return found;
    }
    std::vector<droplog::Record> all(droplog::LineName name) {
        std::vector<droplog::Record> found;
        for (const auto& record : records)
            if (record.name == name)
                found.push_back(record);
        return found;
    }
    using Said = std::vector<std::string>;

    SmallBench bench;
    std::vector<std::string> lines;
    std::vector<droplog::Record> records;
    bool acknowledges = true;
};

TEST_F(ControllerDesk, MakesEachDropOnceWithinAFewHundredMicrometresOfItsPlace) {
    start();
    pass(12 * second);
    EXPECT_EQ(said("halted"), Said{"halted,count"});
    const auto drops = all(droplog::LineName::drop);
    ASSERT_EQ(drops.size(), 12U);
    ASSERT_EQ(bench.openings().size(), 12U);
    for (std::size_t i = 0; i < drops.size(); ++i) {
        const Opening& opening = bench.openings()[i];
        EXPECT_EQ(drops[i].tick_us, opening.at_us);
        EXPECT_EQ(drops[i].channel, opening.channel);
        const double lead_um = 0.25 * a_setup().lead_us[opening.channel];
        // One pass of the loop is 125 µm at this speed, one count 100 µm.
        EXPECT_NEAR(opening.position_um + lead_um, static_cast<double>(drops[i].position_um), 230);
    }
}

// 2026-11-26: where the speed was measured in the step of an opening, its line came when the valve shut.
TEST_F(ControllerDesk, TellsOfADropAtOnceThoughTheSpeedChangesInThatStep) {
    bench.ripple = 0.01;
    start("arm,single,20000,1,250000,255,200");
    pass(22 * second);
    const auto drops = all(droplog::LineName::drop);
    ASSERT_EQ(drops.size(), 1600U);
    for (std::size_t i = 0; i < drops.size(); ++i)
        ASSERT_EQ(drops[i].tick_us, bench.openings()[i].at_us) << i;
}

TEST_F(ControllerDesk, SeesEveryPulseOfBothGatesWithItsTickAndWidth) {
    start();
    pass(12 * second);
    const auto pulses = all(droplog::LineName::pulse);
    ASSERT_EQ(pulses.size(), 24U);
    for (const auto& pulse : pulses) {
        EXPECT_EQ(pulse.width_us, SmallBench::dark_us);
        EXPECT_TRUE(
            std::any_of(bench.openings().begin(), bench.openings().end(), [&](const Opening& one) {
                return one.channel == pulse.channel &&
                       one.at_us + SmallBench::fall_us[pulse.gate] + 10U * one.channel ==
                           pulse.tick_us;
            }));
    }
}

TEST_F(ControllerDesk, TravelLinesStandOnTheBeltToTheMicrometre) {
    start("arm,single,100000,1,250000,1,0");
    pass(3 * second);
    const auto travel = all(droplog::LineName::travel);
    ASSERT_GT(travel.size(), 12U);
    for (std::size_t i = 1; i < travel.size(); ++i) {
        EXPECT_LE(travel[i].tick_us - travel[i - 1].tick_us, 250000U);
        if (travel[i - 1].tick_us < 700000)
            continue; // still faster and faster
        const double um_per_us =
            static_cast<double>(travel[i].position_um - travel[i - 1].position_um) /
            (travel[i].tick_us - travel[i - 1].tick_us);
        EXPECT_NEAR(um_per_us, 0.25, 0.0001);
    }
}

TEST_F(ControllerDesk, MeteringFollowsTravel) {
    start("arm,portion,200000,3,250000,1,0");
    pass(20 * second);
    const double wanted = bench.position_um() * 3 * a_setup().steps_per_seed / 200000;
    EXPECT_NEAR(bench.meter_steps(), wanted, 0.01 * wanted);
}

TEST_F(ControllerDesk, LineModeKeepsTheValvesOpenAndEndsAfterItsSpacings) {
    start("arm,line,20000,1,250000,3,50");
    pass(8 * second);
    EXPECT_EQ(said("halted"), Said{"halted,count"});
    EXPECT_TRUE(said("drop").empty());
    EXPECT_EQ(bench.openings().size(), 2U); // each valve once
}

TEST_F(ControllerDesk, NothingTurnsWithoutArmAndGo) {
    for (const char* command : {"hello", "go", "halt", "alive", "resend,0", "ack,0", "dance"})
        bench.send(command);
    pass(second);
    EXPECT_FALSE(bench.controller().outputs().drive);
    bench.send(good_arm);
    pass(second);
    EXPECT_FALSE(bench.controller().outputs().drive);
    EXPECT_EQ(bench.position_um(), 0.0);
    EXPECT_TRUE(bench.openings().empty());
}

TEST_F(ControllerDesk, EmergencyStopCutsEverythingInTheSameStep) {
    start("arm,single,100000,1,250000,255,0");
    pass(3 * second);
    ASSERT_TRUE(bench.controller().outputs().drive);
    bench.estop = true;
    bench.advance(SmallBench::step_us);
    const Outputs& outputs = bench.controller().outputs();
    EXPECT_FALSE(outputs.drive);
    EXPECT_EQ(outputs.valves | outputs.meters, 0);
    EXPECT_EQ(outputs.drive_hz + outputs.meter_hz, 0);
    pass(3 * second);
    EXPECT_EQ(said("fault"), Said{"fault,-1,estop"});
    EXPECT_EQ(said("halted"), Said{"halted,estop"});
    bench.send(good_arm);
    collect();
    EXPECT_EQ(said("refused"), Said{"refused,estop"});
    bench.estop = false;
    pass(second);
    EXPECT_FALSE(bench.controller().outputs().drive);
}

TEST_F(ControllerDesk, GuardWhileArmedHaltsAndIdleTellsOnly) {
    bench.guard = true;
    pass(second);
    EXPECT_EQ(said("fault"), Said{"fault,-1,guard"});
    bench.guard = false;
    pass(second);
    bench.send(good_arm);
    bench.guard = true;
    pass(second);
    EXPECT_EQ(said("fault").size(), 2U);
    EXPECT_EQ(said("halted"), Said{"halted,guard"});
}

TEST_F(ControllerDesk, ASilentHostHaltsAfterTwoSeconds) {
    start("arm,single,100000,1,250000,1,0");
    pass(3 * second);
    bench.send("alive");
    bench.advance(2 * second);
    EXPECT_TRUE(bench.controller().outputs().drive_hz > 0);
    bench.advance(8 * SmallBench::step_us);
    EXPECT_EQ(bench.controller().outputs().meters, 0);
    bench.advance(2 * second);
    collect();
    EXPECT_EQ(said("fault"), Said{"fault,-1,host_silent"});
    EXPECT_EQ(said("halted"), Said{"halted,host_silent"});
    EXPECT_FALSE(bench.controller().outputs().drive);
}

TEST_F(ControllerDesk, ABeltThatDoesNotFollowIsAStall) {
    start("arm,single,100000,1,250000,1,0");
    pass(2 * second);
    bench.belt_slips = true;
    pass(4 * second);
    EXPECT_EQ(said("fault"), Said{"fault,-1,motor_stall"});
    EXPECT_EQ(said("halted"), Said{"halted,fault"});
}

TEST_F(ControllerDesk, AnEncoderThatSkippedEndsTheRun) {
    start("arm,single,100000,1,250000,1,0");
    pass(2 * second);
    bench.encoder_skipped = true;
    bench.advance(SmallBench::step_us);
    bench.encoder_skipped = false;
    pass(4 * second);
    EXPECT_EQ(said("fault"), Said{"fault,-1,encoder_skipped"});
    EXPECT_EQ(said("halted"), Said{"halted,fault"});
}

TEST_F(ControllerDesk, ABlockedGateIsTold) {
    start("arm,single,100000,1,250000,1,0");
    pass(second);
    bench.blocked = 0x0100; // gate 1 of channel 0
    pass(second);
    EXPECT_EQ(said("fault"), Said{"fault,0,gate_blocked"});
}

TEST_F(ControllerDesk, WhenNobodyAcknowledgesLinesAreLostAndCountedButStatesGetThrough) {
    acknowledges = false;
    start("arm,single,50000,1,250000,255,0");
    pass(20 * second);
    bench.send("halt");
    pass(3 * second);
    const auto beats = all(droplog::LineName::beat);
    EXPECT_EQ(said("halted"), Said{"halted,host"});
    const std::uint32_t numbered = bench.controller().buffer().next_seq();
    EXPECT_EQ(numbered - records.size(), bench.controller().buffer().lost());
    EXPECT_GT(bench.controller().buffer().lost(), 100U);
    bench.send("ack," + std::to_string(records.back().seq));
    acknowledges = true;
    pass(2 * second);
    EXPECT_EQ(all(droplog::LineName::beat).back().count, bench.controller().buffer().lost());
}

TEST(ControllerWithoutRoom, CountsWhatItLosesAndBreaksNothing) {
    const auto setup = a_setup();
    Controller controller(setup, {nullptr, 0}, "x", 0);
    controller.lose_edges(5);
    LineText line;
    EXPECT_FALSE(controller.next_line(line));
    EXPECT_EQ(controller.buffer().lost(),
              3U); // the greeting, the edges, the fault that tells of them
    EXPECT_EQ(controller.buffer().next_seq(), 3U);
}

TEST_F(ControllerDesk, EveryTickIsAtMostFiftyMillisecondsBehind) {
    start("arm,single,50000,1,250000,255,0");
    bench.blocked = 0x0004;
    pass(6 * second);
    std::uint32_t newest = 0;
    for (const auto& record : records) {
        newest = std::max(newest, record.tick_us);
        ASSERT_LE(newest - record.tick_us, 50000U);
    }
}

} // namespace
} // namespace dropledger::controller
