#include "desk.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>
#include <set>

namespace dropledger::emulated {
namespace {

using droplog::LineName;
constexpr std::uint64_t second = 1000000;

class FirmwareInAnEmulatedChip : public testing::Test {
protected:
    std::set<std::string> boots() {
        std::set<std::string> found;
        for (const std::string& line : desk.lines)
            if (line.starts_with("hello"))
                found.insert(std::string(droplog::fields_of(*droplog::checked_body(line)).at(4)));
        return found;
    }
    Desk desk{FIRMWARE, units_of(EIGHT_UNITS)};
};

TEST_F(FirmwareInAnEmulatedChip, GreetsWithItsChannelsAndBeats) {
    desk.pass_us(2 * second);
    ASSERT_FALSE(desk.records.empty());
    EXPECT_EQ(desk.records.front().name, LineName::hello);
    EXPECT_EQ(desk.records.front().count, 8U);
    EXPECT_EQ(desk.all(LineName::beat).size(), 2U);
    EXPECT_FALSE(desk.said("fault"));
}

// As whoever flashes a board writes it; a LF ends it.
TEST_F(FirmwareInAnEmulatedChip, NamesItselfByTheSerialInItsEeprom) {
    desk.chip.set_eeprom(0, "B-0007\n");
    desk.pass_us(second / 2);
    const auto name = [&] {
        for (const std::string& line : desk.lines)
            if (line.starts_with("hello"))
                return std::string(droplog::fields_of(*droplog::checked_body(line)).at(6));
        return std::string{};
    };
    EXPECT_EQ(name(), "dropledger-controller%201%20atmega2560%20#B-0007");
    desk.lines.clear();
    desk.chip.set_eeprom(0, std::string(12, '\xFF')); // erased
    desk.chip.reset();
    desk.plant.chip_was_reset();
    desk.pass_us(second / 2);
    EXPECT_EQ(name(), "dropledger-controller%201%20atmega2560");
    EXPECT_EQ(boots().size(), 1U);
}

TEST_F(FirmwareInAnEmulatedChip, HasEveryOutputOffAtResetAndANewBootAfterIt) {
    desk.start("arm,single,100000,1,250000,255,0");
    desk.pass_us(2500000);
    ASSERT_TRUE(desk.chip.is_high(desk.wiring.drive));
    desk.chip.reset();
    desk.plant.chip_was_reset();
    EXPECT_FALSE(desk.chip.is_high(desk.wiring.drive));
    for (const Pin valve : desk.wiring.valves)
        EXPECT_FALSE(desk.chip.is_high(valve));
    desk.pass_us(second);
    EXPECT_FALSE(desk.chip.is_high(desk.wiring.drive));
    EXPECT_EQ(boots().size(), 2U);
}

// How far a stamp is from the truth where nothing waits its turn: encoder, serial line both ways
// and valves are busy, and all 16 beams change in the same cycle or within a few µs.
TEST_F(FirmwareInAnEmulatedChip, StampsSimultaneousEdgesOfSixteenBeamsWithinEightMicroseconds) {
    desk.plant.take_away_seeds();
    desk.start("arm,single,50000,1,250000,255,0");
    desk.pass_us(2 * second);
    std::mt19937 chance(20261126);
    std::map<std::pair<int, int>, std::vector<double>> true_us;
    std::map<std::pair<int, int>, std::vector<double>> true_width_us;
    for (int round = 0; round < 60; ++round) {
        const Cycle base = desk.chip.now() + 20000 * cycles_per_us + chance() % 8000;
        for (int gate = 0; gate < 2; ++gate)
            for (int channel = 0; channel < 8; ++channel) {
                const Pin pin = (gate == 0 ? desk.wiring.gates0 : desk.wiring.gates1)
                                    .at(static_cast<std::size_t>(channel));
                const Cycle dark = base + (round % 2 == 0 ? 0 : chance() % 320);
                const Cycle light =
                    dark + 1500 * cycles_per_us + (round % 2 == 0 ? 0 : chance() % 320);
                desk.chip.at(dark, [this, pin] { desk.chip.set(pin, true); });
                desk.chip.at(light, [this, pin] { desk.chip.set(pin, false); });
                true_us[{channel, gate}].push_back(desk.us_of(dark));
                true_width_us[{channel, gate}].push_back(static_cast<double>(light - dark) /
                                                         cycles_per_us);
            }
        desk.pass_us(150000);
    }
    desk.pass_us(2 * second);
    std::map<std::pair<int, int>, std::size_t> seen;
    double least_us = 0.0;
    double most_us = 0.0;
    for (const auto& pulse : desk.all(LineName::pulse)) {
        const std::pair<int, int> gate{pulse.channel, pulse.gate};
        const std::size_t which = seen[gate]++;
        ASSERT_LT(which, 60U);
        const double off_us = pulse.tick_us - true_us.at(gate).at(which);
        least_us = std::min(least_us, off_us);
        most_us = std::max(most_us, off_us);
        EXPECT_LE(std::abs(off_us), 8.0);
        EXPECT_LE(std::abs(pulse.width_us - true_width_us.at(gate).at(which)), 9.0);
    }
    EXPECT_EQ(desk.all(LineName::pulse).size(), 16U * 60U);
    RecordProperty("least_us", std::to_string(least_us));
    RecordProperty("most_us", std::to_string(most_us));
    std::printf("stamp minus truth: %.2f to %.2f us\n", least_us, most_us);
}

class EmergencyStop : public FirmwareInAnEmulatedChip, public testing::WithParamInterface<bool> {};

TEST_P(EmergencyStop, CutsEveryOutputWithinAMillisecond) {
    desk.start("arm,single,50000,1,250000,255,0");
    desk.pass_us(2 * second);
    while (!desk.chip.is_high(desk.wiring.valves.at(0)))
        desk.chip.run_until(desk.chip.now() + 100);
    ASSERT_TRUE(desk.chip.is_high(desk.wiring.drive));
    const Cycle pressed = desk.chip.now();
    const Pin pin = GetParam() ? desk.wiring.estop : desk.wiring.guard;
    desk.chip.set(pin, true);
    const auto any_on = [this] {
        bool on = desk.chip.is_high(desk.wiring.drive);
        for (const Pin valve : desk.wiring.valves)
            on = on || desk.chip.is_high(valve);
        for (const Pin meter : desk.wiring.meters)
            on = on || desk.chip.is_high(meter);
        return on;
    };
    while (any_on() && desk.chip.now() < pressed + second * cycles_per_us)
        desk.chip.run_until(desk.chip.now() + 1);
    std::printf("cycles to off: %llu\n",
                static_cast<unsigned long long>(desk.chip.now() - pressed));
    EXPECT_LE(desk.chip.now() - pressed, 1000 * cycles_per_us);
    desk.chip.run_until(desk.chip.now() + 1000 * cycles_per_us);
    EXPECT_FALSE(any_on());
    desk.chip.set(pin, false); // let go: nothing comes back
    desk.pass_us(3 * second);
    EXPECT_FALSE(any_on());
    const std::string reason = GetParam() ? "estop" : "guard";
    EXPECT_TRUE(desk.said(",-1," + reason + "*"));
    EXPECT_TRUE(std::any_of(desk.lines.begin(), desk.lines.end(), [&](const std::string& line) {
        return line.starts_with("halted") && line.find("," + reason + "*") != std::string::npos;
    }));
}

INSTANTIATE_TEST_SUITE_P(AndGuard, EmergencyStop, testing::Bool(),
                         [](const auto& kind) { return kind.param ? "EmergencyStop" : "Guard"; });

// Every pulse that the plant made between `started` and now, by gate.
std::size_t pulses_until(const Desk& desk, double us) {
    return static_cast<std::size_t>(
        std::count_if(desk.plant.pulses().begin(), desk.plant.pulses().end(),
                      [us](const PulseTruth& pulse) { return pulse.at_us + pulse.width_us < us; }));
}

TEST_F(FirmwareInAnEmulatedChip, LosesNothingAtNineDropsASecondOnEightChannelsWithTwoGates) {
    desk.start("arm,single,20000,1,180000,255,0");
    desk.pass_us(14 * second);
    desk.send("halt");
    desk.pass_us(5 * second);
    EXPECT_EQ(desk.all(LineName::beat).back().count, 0U);
    EXPECT_EQ(desk.all(LineName::drop).size(), desk.plant.openings().size());
    EXPECT_GT(desk.plant.openings().size(), 700U);
    EXPECT_EQ(desk.all(LineName::pulse).size(), pulses_until(desk, desk.us_of(desk.chip.now())));
    for (std::size_t i = 1; i < desk.records.size(); ++i)
        ASSERT_EQ(desk.records[i].seq, desk.records[i - 1].seq + 1);
}

TEST_F(FirmwareInAnEmulatedChip, HasKeptWhatWasSaidWhileTheCableWasOutForOneAndAHalfSeconds) {
    desk.start("arm,single,20000,1,160000,255,0");
    desk.pass_us(4 * second);
    desk.away_for_us(3 * second / 2);
    desk.pass_us(3 * second);
    desk.send("halt");
    desk.pass_us(5 * second);
    EXPECT_EQ(desk.all(LineName::beat).back().count, 0U);
    EXPECT_EQ(desk.all(LineName::pulse).size(), pulses_until(desk, desk.us_of(desk.chip.now())));
    for (std::size_t i = 1; i < desk.records.size(); ++i)
        ASSERT_EQ(desk.records[i].seq, desk.records[i - 1].seq + 1);
}

TEST_F(FirmwareInAnEmulatedChip, SkipsNoEncoderCountAtItsGreatestSpeedUnderLoad) {
    desk.start("arm,single,88000,1,800000,255,0");
    desk.pass_us(8 * second);
    EXPECT_GT(desk.all(LineName::drop).size(), 350U);
    EXPECT_FALSE(desk.said("fault"));
    const auto travel = desk.all(LineName::travel);
    const auto& first = travel.at(10);
    const double um_per_us = static_cast<double>(travel.back().position_um - first.position_um) /
                             (travel.back().tick_us - first.tick_us);
    EXPECT_NEAR(um_per_us, 0.8, 0.005); // the belt's ripple
}

TEST_F(FirmwareInAnEmulatedChip, ASilentHostStopsTheMotors) {
    desk.start("arm,single,100000,1,250000,255,0");
    desk.pass_us(2 * second);
    desk.alive = false;
    desk.pass_us(3 * second);
    EXPECT_FALSE(desk.chip.is_high(desk.wiring.drive));
    EXPECT_TRUE(desk.said(",-1,host_silent*"));
}

TEST_F(FirmwareInAnEmulatedChip, AWatchdogResetsItWhenItsLoopHangs) {
    desk.start("arm,single,100000,1,250000,255,0");
    desk.pass_us(2 * second);
    const std::set<std::string> before = boots();
    desk.chip.hang();
    desk.alive = false;
    desk.pass_us(2 * second);
    EXPECT_FALSE(desk.chip.is_high(desk.wiring.drive));
    desk.send("hello");
    desk.pass_us(second);
    EXPECT_EQ(boots().size(), before.size() + 1);
}

} // namespace
} // namespace dropledger::emulated
