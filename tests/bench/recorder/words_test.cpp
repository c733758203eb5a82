#include "bench/recorder/protocol/lines/words.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/recorder/halt_motors.hpp"
#include "bench/recorder/probe.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/replay.hpp"

#include <gtest/gtest.h>

namespace dropledger::recorder {
namespace {

TEST(Words, SayWhatToDoForEveryFaultOfTheFormat) {
    for (const char* code : {"estop", "guard", "motor_stall", "gate_blocked", "valve_stuck",
                             "low_voltage", "host_silent"})
        EXPECT_NE(fault_in_words(code).find(';'), std::string::npos) << code;
}

TEST(Words, SayWhatEveryHaltOfTheFormatMeans) {
    for (const char* reason : {"host", "count", "estop", "guard", "host_silent", "fault"})
        EXPECT_EQ(halt_in_words(reason).find('`'), std::string::npos) << reason;
}

TEST(Words, ShowACodeThatIsNew) {
    EXPECT_NE(fault_in_words("warp").find("warp"), std::string::npos);
    EXPECT_NE(halt_in_words("warp").find("warp"), std::string::npos);
    EXPECT_NE(refusal_in_words("warp").find("warp"), std::string::npos);
}

TEST(Probe, FindsABenchAndItsFirmware) {
    FakeBench fake;
    fake.channels = 3;
    auto link = fake.open();
    ASSERT_TRUE(link);
    const auto answer = probe(**link, fake.clock, Microseconds{1'500'000});
    ASSERT_TRUE(answer);
    EXPECT_EQ(answer->firmware, "fake");
    EXPECT_EQ(answer->protocol, 1U);
}

TEST(Probe, GivesUpOnSilenceAndOnAHangUp) {
    FakeBench fake;
    fake.mute();
    fake.unplug(0);
    auto link = fake.open();
    ASSERT_TRUE(link);
    EXPECT_FALSE(probe(**link, fake.clock, Microseconds{1'500'000}));
    link::Replay noise("no hello here\r\n");
    EXPECT_FALSE(probe(noise, fake.clock, Microseconds{1'500'000}));
}

TEST(HaltMotors, TriesUntilTheHaltIsConfirmed) {
    FakeBench fake;
    auto link = fake.open();
    ASSERT_TRUE(link);
    int tries = 0;
    fake.arrives = [&](const std::string& line) {
        return !line.starts_with("halt") || ++tries > 2;
    };
    Wire wire(std::move(*link));
    ASSERT_TRUE(wire.write(arm_line({.drops = 500})));
    ASSERT_TRUE(wire.write(GoOrder(fake.leave()).line()));
    EXPECT_TRUE(halt_motors(wire, fake.clock, {}));
    EXPECT_EQ(tries, 3);
    EXPECT_FALSE(fake.moving());
}

TEST(HaltMotors, TakesAnIdleControllersRefusalsForAConfirmation) {
    FakeBench fake;
    auto link = fake.open();
    ASSERT_TRUE(link);
    Wire wire(std::move(*link));
    EXPECT_TRUE(halt_motors(wire, fake.clock, {}));
    EXPECT_LT(fake.now_us(), 2'000'000);
}

TEST(HaltMotors, GivesUpOnAControllerThatDoesNotAnswer) {
    FakeBench fake;
    auto link = fake.open();
    ASSERT_TRUE(link);
    fake.arrives = [](const std::string&) { return false; };
    Wire wire(std::move(*link));
    EXPECT_FALSE(halt_motors(wire, fake.clock, {}));
}

} // namespace
} // namespace dropledger::recorder
