// Lines lost, damaged, repeated; the controller that starts anew; the line that is gone.
#include "a_recorder.hpp"

#include <random>

namespace dropledger::recorder {
namespace {

TEST_F(Recorder, AsksAgainForALineThatWasLostOnTheWay) {
    int lost = 0;
    fake.wire = [&](std::string line) {
        return line.starts_with("drop,") && lost++ == 3 ? "" : line;
    };
    const auto summary = run();
    ASSERT_TRUE(summary);
    EXPECT_EQ(summary->counts.resends, 1U);
    EXPECT_EQ(count_of(log(), "@sent,resend%2C"), 1U);
    expect_complete();
    expect_all_made();
    EXPECT_EQ(count_of(log(), "drop,"), 20U);
}

TEST_F(Recorder, DoesNotAskForOneGapMoreOftenThanItsRate) {
    std::int64_t before_us = -1'000'000;
    fake.loses = [](std::uint32_t seq) { return seq == 12; };
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("resend,12")) {
            EXPECT_GE(fake.now_us() - before_us, Timings{}.resend.count());
            before_us = fake.now_us();
        }
        return true;
    };
    const auto summary = run(200);
    ASSERT_TRUE(summary);
}

TEST_F(Recorder, GivesALineUpOnlyWhenTheControllerSaysItIsLostAndTheRunIsIncomplete) {
    fake.loses = [](std::uint32_t seq) { return seq == 12; };
    const auto summary = run(200);
    ASSERT_TRUE(summary);
    EXPECT_EQ(summary->conceded, 1U);
    const auto integrity = integrity_of(log());
    EXPECT_FALSE(integrity.complete());
    EXPECT_EQ(integrity.lost, 1U);
    EXPECT_EQ(integrity.missing_lines, 1U);
    EXPECT_EQ(count_of(log(), "drop,"), 200U);
}

TEST_F(Recorder, KeepsADamagedLineAndAsksForItAgain) {
    int hits = 0;
    fake.wire = [&](std::string line) {
        if (line.starts_with("pulse,") && hits++ == 5)
            line[8] = '\x01';
        return line;
    };
    const auto summary = run();
    ASSERT_TRUE(summary);
    EXPECT_EQ(summary->counts.damaged, 1U);
    EXPECT_EQ(count_of(log(), "@damaged,pulse%2C"), 1U);
    expect_complete();
    expect_all_made();
}

TEST_F(Recorder, IgnoresLinesThatComeTwice) {
    fake.wire = [](std::string line) { return line + line; };
    const auto summary = run();
    ASSERT_TRUE(summary);
    EXPECT_GT(summary->counts.repeated, 20U);
    expect_complete();
    EXPECT_EQ(count_of(log(), "drop,"), 20U);
}

TEST_F(Recorder, SurvivesOneByteInAHundredDamagedBothWays) {
    std::mt19937 random(20261125);
    std::uint64_t spoilt_lines = 0;
    const auto spoil = [&](std::string bytes) {
        for (char& byte : bytes)
            if (random() % 100 == 0)
                byte = static_cast<char>(byte ^ (1 << (random() % 7)));
        return bytes;
    };
    fake.wire = [&](const std::string& line) {
        std::string out = spoil(line);
        spoilt_lines += out != line ? 1U : 0U;
        return out;
    };
    fake.arrives = [&](const std::string& line) { return spoil(line) == line; };
    const auto summary = run(300);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_GT(spoilt_lines, 100U);
    EXPECT_EQ(count_of(log(), "drop,"), 300U);
    expect_complete();
    expect_all_made();
}

TEST_F(Recorder, EndsTheRunWhenTheControllerStartsAnewAndDoesNotStartItsMotors) {
    fake.at(1'000'000, [this] { fake.boot(); });
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "reset");
    EXPECT_FALSE(fake.moving());
    const auto integrity = integrity_of(log());
    EXPECT_EQ(integrity.boots, 2U);
    EXPECT_FALSE(integrity.complete()); // what the first boot had not handed over is lost
    EXPECT_TRUE(integrity.seals.intact);
    EXPECT_EQ(integrity.sequence_gaps, 0U);
    EXPECT_EQ(integrity.lines.repeated + integrity.lines.conflicting, 0U);
    EXPECT_TRUE(said("started anew"));
}

TEST_F(Recorder, NoticesAResetWhoseHelloWasLost) {
    int hellos = 0;
    fake.wire = [&](std::string line) {
        return line.starts_with("hello,0,") && hellos++ == 0 ? "" : line;
    };
    fake.at(1'500'000, [this] { fake.boot(); });
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "reset");
    const auto integrity = integrity_of(log());
    EXPECT_EQ(integrity.boots, 2U);
    EXPECT_FALSE(integrity.complete()); // what the first boot had not handed over is lost
    EXPECT_TRUE(integrity.seals.intact);
    EXPECT_EQ(integrity.sequence_gaps, 0U);
    EXPECT_EQ(integrity.lines.repeated + integrity.lines.conflicting, 0U);
}

TEST_F(Recorder, GoesOnAfterTheLineWasUnpluggedForAWhile) {
    fake.at(1'000'000, [this] { fake.unplug(1'700'000); });
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_EQ(count_of(log(), "@resumed,"), 1U);
    EXPECT_EQ(count_of(log(), "drop,"), 100U);
    expect_complete();
    expect_all_made();
}

TEST_F(Recorder, LeavesAValidLogOpenWhenThePortVanishesForGoodAndGoesOnLater) {
    fake.at(1'000'000, [this] { fake.unplug(60'000'000); });
    const auto summary = run(100);
    ASSERT_FALSE(summary);
    EXPECT_EQ(exit_status(summary.error().kind), 74);
    EXPECT_NE(summary.error().remedy.find("`resume`"), std::string::npos);
    const auto broken = integrity_of(log());
    EXPECT_FALSE(broken.torn_tail);
    EXPECT_TRUE(broken.seals.intact);
    EXPECT_FALSE(broken.complete());
    fake.clock.wait(Microseconds{60'000'000});
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    expect_complete();
    expect_all_made();
    EXPECT_TRUE(rest->as_planned); // the controller had halted 2 s after the line was lost
    EXPECT_EQ(fake.starts(), 2);
}

} // namespace
} // namespace dropledger::recorder
