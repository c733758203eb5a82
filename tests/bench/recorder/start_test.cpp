#include "bench/recorder/protocol/plan/start.hpp"

#include "a_recorder.hpp"
#include "tests/bench/recorder/fewest_drops.hpp"

#include <type_traits>

namespace dropledger::recorder {
namespace {

// Leave to start comes from the prompt alone, and cannot be had twice.
static_assert(!std::is_default_constructible_v<StartConfirmed>);
static_assert(!std::is_constructible_v<StartConfirmed, std::int64_t>);
static_assert(!std::is_copy_constructible_v<StartConfirmed>);
static_assert(!std::is_copy_assignable_v<StartConfirmed>);
static_assert(!std::is_constructible_v<GoOrder, StartConfirmed&>);
static_assert(!std::is_default_constructible_v<GoOrder>);

TEST(Start, IsConfirmedByYesAlone) {
    FakeBench fake;
    const StartPrompt prompt(fake.clock);
    for (const char* answer : {"yes", "Yes", "YES", "y", "Y"})
        EXPECT_TRUE(prompt.ask([&] { return std::string{answer}; })) << answer;
    for (const char* answer : {"", "no", "YES!", "yes ", "ye", "yy", "n"})
        EXPECT_FALSE(prompt.ask([&] { return std::string{answer}; })) << answer;
}

TEST(Start, IsNotConfirmedWhereNobodyCanBeAsked) {
    FakeBench fake;
    const auto confirmed = StartPrompt(fake.clock).ask([] { return std::nullopt; });
    ASSERT_FALSE(confirmed);
    EXPECT_EQ(exit_status(confirmed.error().kind), 64);
    EXPECT_NE(confirmed.error().remedy.find("`yes`"), std::string::npos);
}

TEST(Start, TakesALeaveOnce) {
    FakeBench fake;
    StartConfirmed leave = fake.leave();
    const GoOrder go(std::move(leave));
    EXPECT_EQ(droplog::checked_body(go.line()), "go");
    EXPECT_THROW(GoOrder(std::move(leave)), BrokenInvariant); // NOLINT: that is what is tested
}

TEST_F(Recorder, ArmsAndStartsNothingWithoutLeave) {
    const auto summary = record(plan_of(20), path, bench(), hooks);
    ASSERT_FALSE(summary);
    EXPECT_EQ(ordered("arm"), 0U);
    EXPECT_EQ(ordered("go"), 0U);
    EXPECT_EQ(fake.starts(), 0);
}

TEST_F(Recorder, LogsTheConfirmationBeforeTheGoOnceForAStart) {
    int goes = 0;
    fake.arrives = [&](const std::string& line) { return !line.starts_with("go*") || ++goes > 2; };
    ASSERT_TRUE(run());
    const std::size_t confirmed = log().find("\n@confirmed,");
    const std::size_t go = log().find("\n@sent,go");
    ASSERT_NE(confirmed, std::string::npos);
    EXPECT_LT(confirmed, go);
    EXPECT_EQ(count_of(log(), "@confirmed,"), 1U);
    EXPECT_EQ(count_of(log(), "@sent,go"), 3U);
    EXPECT_EQ(fake.starts(), 1);
}

// 2026-11-25: a reset, then a kill before the log was closed: --resume ran the whole order again.
TEST_F(Recorder, OnlyClosesALogWhoseControllerWasReset) {
    fake.forgets = false; // as if nothing had been acknowledged since
    fake.at(2'000'000, [this] { fake.boot(); });
    ASSERT_TRUE(run(100));
    const std::string whole = log();
    const std::size_t boot = whole.find("BOOT-2");
    const std::size_t close = whole.rfind("@close");
    const std::size_t drops = count_of(whole, "drop,");
    for (std::size_t end = whole.find('\n', boot) + 1; end <= close; end += 23) {
        files::put_content(path, whole.substr(0, end));
        const auto summary = go_on();
        ASSERT_TRUE(summary) << end << ": " << summary.error().message();
        EXPECT_EQ(summary->end_reason, "reset");
        EXPECT_FALSE(summary->as_planned);
        EXPECT_EQ(count_of(log(), "drop,"), drops);
    }
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_EQ(ordered("arm"), 1U);
    EXPECT_EQ(ordered("go"), 1U);
}

TEST_F(Recorder, TakesNothingOfALaterBootIntoALogThatHasEnded) {
    ASSERT_TRUE(run(10));
    files::put_content(path, log().substr(0, log().rfind("@close")));
    const std::string before = log();
    fake.boot();
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_EQ(controller_lines(log()), controller_lines(before));
    EXPECT_EQ(fake.acknowledged(), -1); // of the new boot nothing was kept
    expect_complete();
}

// 2026-11-25: killed within 50 ms of `go`, nothing of the start was on the disk.
TEST_F(Recorder, HasOrderAndConfirmationInTheFileBeforeGo) {
    std::string at_arm;
    std::string at_go;
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("arm,"))
            at_arm = log();
        if (line.starts_with("go*"))
            at_go = log();
        return true;
    };
    ASSERT_TRUE(run());
    EXPECT_EQ(count_of(at_arm, "@sent,arm"), 1U);
    EXPECT_GE(count_of(at_arm, "hello,"), 1U);
    EXPECT_EQ(count_of(at_go, "armed,"), 1U);
    EXPECT_EQ(count_of(at_go, "@confirmed,"), 1U);
    EXPECT_EQ(count_of(at_go, "@sent,go"), 1U);
}

TEST_F(Recorder, DoesNotStartTwiceWhenItWasKilledJustAfterGo) {
    std::string at_go;
    fake.forgets = false; // as if nothing had been acknowledged since
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("go*"))
            at_go = log();
        return true;
    };
    ASSERT_TRUE(run(30));
    files::put_content(path, at_go);
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_EQ(ordered("go"), 1U);
    EXPECT_EQ(count_of(log(), "drop,"), 30U);
    expect_complete();
    expect_all_made();
}

TEST_F(Recorder, StartsAResumedRunOnlyWhenNothingOfItCanBeOnItsWayAnyMore) {
    std::string at_arm;
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("arm,"))
            at_arm = log();
        return !line.starts_with("arm,") && !line.starts_with("go*");
    };
    hooks.interrupts = [this] { return fake.now_us() > 3'000'000 ? 2 : 0; };
    ASSERT_FALSE(run(30));
    hooks.interrupts = [] { return 0; };
    fake.arrives = [](const std::string&) { return true; };
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_EQ(count_of(log(), "drop,"), 30U);
    EXPECT_EQ(count_of(log(), "@confirmed,"), 1U);
    expect_complete();
}

TEST_F(Recorder, HaltsWhatWasArmedWhenItGoesOnWithoutLeave) {
    fake.arrives = [&](const std::string& line) { return !line.starts_with("go*"); };
    hooks.interrupts = [this] { return fake.now_us() > 3'000'000 ? 2 : 0; };
    ASSERT_FALSE(run(30));
    EXPECT_EQ(ordered("halt"), 2U); // at the first interrupt, and when it left
    hooks.interrupts = [] { return 0; };
    static_cast<void>(resume(plan_of(0), path, bench(), hooks));
    EXPECT_EQ(fake.starts(), 0);
}

TEST_F(Recorder, HaltsBeforeItGivesUpOnAStartThatIsNotConfirmed) {
    fake.wire = [](std::string line) { return line.starts_with("started,") ? "" : line; };
    const auto summary = run(1'000'000);
    ASSERT_FALSE(summary);
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_FALSE(fake.moving());
    EXPECT_GE(ordered("halt"), 1U);
}

TEST_F(Recorder, HaltsBeforeItGivesUpOnAControllerThatDoesNotArm) {
    fake.arrives = [](const std::string& line) { return !line.starts_with("arm,"); };
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("does not confirm `arm`"), std::string::npos);
    EXPECT_EQ(ordered("halt"), 3U); // and is refused, because nothing moves
}

TEST_F(Recorder, HaltsWhenABugOfOursIsThrown) {
    hooks.progress = [](const LiveTally& tally) {
        if (fewest_drops(tally) > 5)
            throw BrokenInvariant("a test's");
    };
    EXPECT_THROW(static_cast<void>(run(1000)), BrokenInvariant);
    EXPECT_FALSE(fake.moving());
}

TEST_F(Recorder, HaltsAMotorWhoseLogCannotBeGoneOnWith) {
    ASSERT_TRUE(run(10));
    auto link = fake.open();
    ASSERT_TRUE((*link)->write(arm_line({.drops = 500}) + '\n'));
    ASSERT_TRUE((*link)->write(GoOrder(fake.leave()).line() + '\n'));
    ASSERT_TRUE(fake.moving());
    ASSERT_FALSE(go_on()); // it is closed
    EXPECT_FALSE(fake.moving());
}

TEST_F(Recorder, HaltsAControllerThatGoesOnBeyondTheOrder) {
    fake.halts_after = 500;
    const auto summary = run(40);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "more_than_ordered");
    EXPECT_FALSE(summary->as_planned);
    EXPECT_LE(count_of(log(), "drop,"), 45U);
    EXPECT_FALSE(fake.moving());
}

// 2026-11-25: `halted,count` after 13 of 40 drops passed for a run as planned.
TEST_F(Recorder, CallsARunShortWhoseControllerCountedWrong) {
    fake.halts_after = 13;
    const auto summary = run(40);
    ASSERT_TRUE(summary);
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_FALSE(summary->as_planned);
    EXPECT_EQ(summary->remainder, (std::map<int, std::int64_t>{{0, 27}}));
}

TEST(Remainder, IsWhatEachOrderedChannelLacks) {
    LiveTally tally;
    const auto drop = [&](int channel, std::uint32_t index) {
        const std::string line =
            droplog::drop_line({index, index * 1000}, {channel, index, 180'000 * index, 1});
        tally.take(droplog::decode(line), line);
    };
    for (std::uint32_t index = 0; index < 5; ++index)
        drop(1, index);
    drop(3, 0);
    const ArmOrder order{.mode = droplog::Mode::single, .channel_mask = 0b1011, .drops = 5};
    EXPECT_EQ(remainder(order, tally), (std::map<int, std::int64_t>{{0, 5}, {3, 4}}));
    EXPECT_TRUE(remainder({.mode = droplog::Mode::line, .drops = 5}, tally).empty());
    EXPECT_TRUE(remainder({.mode = droplog::Mode::single, .drops = 0}, tally).empty());
}

} // namespace
} // namespace dropledger::recorder
