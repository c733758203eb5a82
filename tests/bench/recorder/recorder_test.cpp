#include "a_recorder.hpp"

#include "analysis/base/text.hpp"
#include "tests/bench/recorder/fewest_drops.hpp"

namespace dropledger::recorder {
namespace {

TEST_F(Recorder, RecordsARunFromHelloToClose) {
    const auto summary = run();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    expect_complete();
    expect_all_made();
    EXPECT_EQ(count_of(log(), "drop,"), 20U);
    EXPECT_EQ(count_of(log(), "pulse,"), 20U);
    EXPECT_EQ(summary->tally.channels().at(0).exact, 20U);
    EXPECT_EQ(fake.heard(),
              (std::vector<std::string>{"hello", "arm,single,180000,1,250000,1,20", "go"}));
    EXPECT_EQ(count_of(log(), "@sent,"), 3U);
}

TEST_F(Recorder, WritesHeaderAndSettingsBeforeTheFirstControllerLine) {
    ASSERT_TRUE(run());
    const auto lines = lines_of(log());
    EXPECT_TRUE(lines[0].starts_with(
        "@droplog,1,00000000-0000-4000-8000-000000000001,2023-11-14T22:13:20Z*"));
    const auto first = std::find_if(lines.begin(), lines.end(),
                                    [](const std::string& line) { return !line.starts_with('@'); });
    const auto last_setting =
        std::find_if(lines.rbegin(), lines.rend(), [](const std::string& line) {
            return line.starts_with("@set,") || line.starts_with("@channel,");
        });
    EXPECT_LT(last_setting.base(), first + 1);
    EXPECT_TRUE(first->starts_with("hello,"));
}

TEST_F(Recorder, MarksTheWallClockAtLeastOnceASecond) {
    ASSERT_TRUE(run(200));
    std::int64_t before_us = 0;
    for (const std::string& line : lines_of(log())) {
        if (!line.starts_with("@at,"))
            continue;
        const auto fields = split(*droplog::checked_body(line), ',');
        const std::int64_t at_us = *parse_int(fields[2]);
        if (before_us != 0) {
            EXPECT_LE(at_us - before_us, 1'100'000); // a beat's period, and its way
        }
        before_us = at_us;
    }
    EXPECT_GT(before_us, 0);
}

TEST_F(Recorder, AcknowledgesOnlyWhatStandsInTheFile) {
    std::int64_t worst_us = 0;
    std::int64_t behind_since_us = 0;
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("ack,")) {
            const auto kept = controller_lines(log());
            EXPECT_FALSE(kept.empty());
            if (kept.empty())
                return true;
            const auto acknowledged = split(*droplog::checked_body(line), ',')[1];
            EXPECT_EQ(std::to_string(droplog::decode(kept.back()).seq), std::string{acknowledged});
            worst_us = std::max(worst_us, fake.now_us() - behind_since_us);
        }
        behind_since_us = fake.now_us();
        return true;
    };
    ASSERT_TRUE(run());
    EXPECT_EQ(fake.backlog(), fake.made().size() - controller_lines(log()).size());
}

TEST_F(Recorder, IsAtMost100MillisecondsBehindWithItsAcknowledgement) {
    std::int64_t oldest_us = 0; // when the oldest line not yet acknowledged was made
    bool open = false;
    bool ordered = false; // until then it is found out what an acknowledgement would give up
    fake.wire = [&](std::string line) {
        if (!std::exchange(open, true))
            oldest_us = fake.now_us();
        return line;
    };
    fake.arrives = [&](const std::string& line) {
        open = open && std::exchange(ordered, ordered || line.starts_with("arm,"));
        if (line.starts_with("ack,") && ordered) {
            EXPECT_LE(fake.now_us() - oldest_us, 100'000);
            open = false;
        }
        return true;
    };
    ASSERT_TRUE(run(100));
}

TEST_F(Recorder, SaysAliveAtLeastEvery500MillisecondsFromArmOn) {
    std::optional<std::int64_t> before_us;
    fake.arrives = [&](const std::string& line) {
        const bool alive = line.starts_with("alive");
        EXPECT_TRUE(before_us || !alive) << "it would keep another's run going";
        if (alive) {
            EXPECT_LE(fake.now_us() - *before_us, 500'000);
        }
        if (alive || line.starts_with("arm,"))
            before_us = fake.now_us();
        return true;
    };
    ASSERT_TRUE(run(100));
    EXPECT_GT(before_us, 4'000'000);
}

TEST_F(Recorder, HaltsAndClosesWhenTheOperatorStops) {
    hooks.interrupts = [this] { return fake.now_us() > 1'000'000 ? 1 : 0; };
    const auto summary = run(1000);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "interrupted");
    EXPECT_FALSE(fake.moving());
    EXPECT_EQ(count_of(log(), "halted,"), 1U);
    expect_complete();
}

TEST_F(Recorder, LeavesAtOnceWhenTheOperatorStopsTwiceAndTheLogCanGoOn) {
    hooks.interrupts = [this] {
        return fake.now_us() > 1'010'000 ? 2 : fake.now_us() > 1'000'000 ? 1 : 0;
    };
    const auto summary = run(1000);
    ASSERT_FALSE(summary);
    EXPECT_TRUE(integrity_of(log()).seals.intact);
    EXPECT_FALSE(integrity_of(log()).close_reason);
}

TEST_F(Recorder, SaysSoWhenTheHaltIsNotConfirmed) {
    fake.at(1'000'000, [this] { fake.mute(); });
    hooks.interrupts = [this] { return fake.now_us() > 1'000'000 ? 1 : 0; };
    const auto summary = run(1000);
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().message().find("emergency stop"), std::string::npos);
}

TEST_F(Recorder, StopsWhenTheRuleSaysSoAndWritesWhy) {
    hooks.stop = [](const LiveTally& tally) {
        return fewest_drops(tally) >= 7 ? std::optional<std::string>{"decided"} : std::nullopt;
    };
    const auto summary = run(1000);
    ASSERT_TRUE(summary);
    EXPECT_EQ(summary->end_reason, "decided");
    EXPECT_EQ(count_of(log(), "@close,decided,"), 1U);
    EXPECT_LT(count_of(log(), "drop,"), 12U);
}

TEST_F(Recorder, ShowsAFaultInWords) {
    fake.at(1'000'000, [this] { fake.fault("estop"); });
    const auto summary = run(1000);
    ASSERT_TRUE(summary);
    EXPECT_EQ(summary->end_reason, "estop");
    EXPECT_TRUE(said("emergency stop pressed; clear the danger"));
    expect_complete();
}

TEST_F(Recorder, ShowsARefusalInWordsAndClosesTheLog) {
    fake.refuses = [](const std::string& name) { return name == "arm" ? "guard" : ""; };
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_EQ(exit_status(summary.error().kind), 74);
    EXPECT_NE(summary.error().message().find("the guard is open; close it"), std::string::npos);
    EXPECT_EQ(count_of(log(), "@close,refused,"), 1U);
}

TEST_F(Recorder, LeavesNoLogBehindWhenNobodyAnswers) {
    fake.mute();
    fake.unplug(0);
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("does not answer"), std::string::npos)
        << summary.error().message();
    EXPECT_EQ(folder.entries(), 0);
}

TEST_F(Recorder, LeavesNoLogBehindWhenStoppedBeforeAnybodyAnswered) {
    fake.mute();
    fake.unplug(0);
    hooks.interrupts = [this] { return fake.now_us() > 1'000'000 ? 1 : 0; };
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_EQ(folder.entries(), 0);
}

TEST_F(Recorder, DoesNotArmAControllerThatHasLostLines) {
    fake.loses = [](std::uint32_t seq) { return seq == 1; };
    fake.clock.wait(Microseconds{1'500'000}); // beat 1 is lost before the run
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().remedy.find("off and on"), std::string::npos);
    EXPECT_FALSE(fake.moving());
}

TEST_F(Recorder, RefusesChannelsThatTheBenchLacks) {
    RunPlan plan = plan_of(10);
    plan.order.channel_mask = 6;
    const auto summary = record(leave(std::move(plan)), path, bench(), hooks);
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("has 1 channel (0 to 0)"), std::string::npos);
}

TEST_F(Recorder, SealsAtLeastEvery1000LinesAnd10Seconds) {
    fake.drop_every_us = 1'000'000;
    ASSERT_TRUE(run(60));
    std::int64_t lines_since = 0;
    std::int64_t last_at_us = 0;
    std::int64_t sealed_at_us = 0;
    for (const std::string& line : lines_of(log())) {
        if (line.starts_with("@at,"))
            last_at_us = *parse_int(split(*droplog::checked_body(line), ',')[2]);
        if (sealed_at_us == 0)
            sealed_at_us = last_at_us;
        ++lines_since;
        if (!line.starts_with("@seal,"))
            continue;
        EXPECT_LE(lines_since, 1001);
        EXPECT_LE(last_at_us - sealed_at_us, 10'000'000);
        lines_since = 0;
        sealed_at_us = last_at_us;
    }
    EXPECT_GE(count_of(log(), "@seal,"), 6U);
}

TEST_F(Recorder, SignsTheLogWhereTheBenchHasAKey) {
    RunPlan plan = plan_of(5);
    plan.key = droplog::PrivateKey{1, 2, 3};
    ASSERT_TRUE(record(leave(std::move(plan)), path, bench(), hooks));
    EXPECT_TRUE(integrity_of(log()).is_signed);
}

} // namespace
} // namespace dropledger::recorder
