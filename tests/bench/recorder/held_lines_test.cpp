// What a controller still holds of an earlier run.
#include "bench/recorder/protocol/lines/survey.hpp"

#include "a_recorder.hpp"

namespace dropledger::recorder {
namespace {

droplog::Record record_of(droplog::LineName name, std::uint32_t seq) {
    droplog::Record record;
    record.name = name;
    record.seq = seq;
    return record;
}

droplog::Record beat_of(std::uint32_t seq, std::uint32_t backlog) {
    droplog::Record beat = record_of(droplog::LineName::beat, seq);
    beat.index = backlog;
    return beat;
}

TEST(Survey, IsDoneWhereNothingOlderIsHeld) {
    Survey survey;
    survey.begin(100);
    EXPECT_FALSE(survey.done());
    survey.beat(beat_of(101, 1));
    EXPECT_TRUE(survey.done());
    EXPECT_FALSE(survey.holds_run());
    EXPECT_EQ(survey.held(), 0U);
}

TEST(Survey, LooksAtEveryOlderLineAndAsksAgainForTheFirstItLacks) {
    Survey survey;
    survey.begin(100);
    survey.beat(beat_of(101, 4));
    EXPECT_EQ(survey.held(), 3U);
    EXPECT_EQ(survey.ask_from(), 97U);
    survey.seen(record_of(droplog::LineName::beat, 97));
    survey.seen(record_of(droplog::LineName::hello, 99)); // 98 was damaged on its way
    EXPECT_EQ(survey.ask_from(), 98U);
    survey.seen(record_of(droplog::LineName::refused, 98));
    survey.seen(record_of(droplog::LineName::hello, 99));
    EXPECT_TRUE(survey.done());
    EXPECT_FALSE(survey.holds_run());
}

TEST(Survey, KnowsARunByItsStatesAndDrops) {
    using droplog::LineName;
    for (const LineName name :
         {LineName::armed, LineName::started, LineName::drop, LineName::halted}) {
        Survey survey;
        survey.begin(100);
        survey.beat(beat_of(101, 50));
        survey.seen(record_of(name, 60));
        EXPECT_TRUE(survey.done());
        EXPECT_TRUE(survey.holds_run());
    }
}

TEST(Survey, BearsABacklogThatCountsTheBeatItself) {
    Survey survey;
    survey.begin(100);
    survey.beat(beat_of(101, 2)); // hello and beat
    EXPECT_EQ(survey.ask_from(), 99U);
    survey.gone();
    EXPECT_TRUE(survey.done());
    EXPECT_EQ(survey.held(), 0U);
}

TEST(Survey, GoesAcrossTheWrapOfTheSequence) {
    Survey survey;
    survey.begin(1);
    survey.beat(beat_of(2, 3));
    EXPECT_EQ(survey.ask_from(), 4'294'967'295U);
    survey.seen(record_of(droplog::LineName::beat, 4'294'967'295U));
    survey.seen(record_of(droplog::LineName::beat, 0));
    EXPECT_TRUE(survey.done());
}

class HeldLines : public Recorder {
protected:
    HeldLines() { other = folder / "other.droplog"; }
    // The driver is left in mid-run; what comes after it stays with the controller.
    void kill_in_mid_run() {
        hooks.interrupts = [this] { return fake.now_us() > 3'000'000 ? 2 : 0; };
        ASSERT_FALSE(run(100));
        hooks.interrupts = [] { return 0; };
        fake.clock.wait(Microseconds{3'000'000});
        ASSERT_GT(fake.backlog(), 0U);
    }
    [[nodiscard]] Result<RunSummary> other_run(bool discard) {
        RunPlan plan = leave(plan_of(20));
        plan.discard_held = discard;
        return record(std::move(plan), other, bench(), hooks);
    }
    std::string other;
};

// 2026-11-25: the first acknowledgement of a new run threw 696 lines of a killed one away.
TEST_F(HeldLines, KeepANewRunFromDestroyingThem) {
    kill_in_mid_run();
    const auto acknowledged = fake.acknowledged();
    const std::size_t held = fake.backlog();
    const auto refused = other_run(false);
    ASSERT_FALSE(refused);
    EXPECT_EQ(exit_status(refused.error().kind), 74);
    EXPECT_NE(refused.error().remedy.find("`resume`"), std::string::npos);
    EXPECT_EQ(fake.acknowledged(), acknowledged);
    EXPECT_GE(fake.backlog(), held);
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_EQ(folder.entries(), 1); // the refused run leaves no log behind
}

TEST_F(HeldLines, AreFetchedByGoingOnWithTheirLogAndThenANewRunIsFree) {
    kill_in_mid_run();
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    expect_complete();
    expect_all_made();
    EXPECT_EQ(fake.starts(), 2); // the second one for the drops that were left
    const auto fresh = other_run(false);
    ASSERT_TRUE(fresh) << fresh.error().message();
    EXPECT_TRUE(fresh->as_planned);
}

TEST_F(HeldLines, AreGivenUpWhereThatIsAskedForAndTheLogSaysSo) {
    kill_in_mid_run();
    const auto summary = other_run(true);
    ASSERT_TRUE(summary) << summary.error().message();
    const std::string text = content_of(other);
    EXPECT_EQ(count_of(text, "drop,"), 20U);
    EXPECT_NE(text.find("older lines that the controller held were given up as told"),
              std::string::npos);
}

TEST_F(HeldLines, ThatOthersAcknowledgedAreNotWaitedForForEver) {
    kill_in_mid_run();
    const std::string before = log();
    ASSERT_TRUE(other_run(true));
    const std::int64_t began_us = fake.now_us();
    const auto rest = go_on();
    ASSERT_FALSE(rest);
    EXPECT_NE(rest.error().what.find("another run has acknowledged them"), std::string::npos);
    EXPECT_LT(fake.now_us() - began_us, 10'000'000);
    EXPECT_EQ(controller_lines(log()), controller_lines(before)); // nothing of the other run
    EXPECT_FALSE(integrity_of(log()).complete());
    EXPECT_FALSE(fake.moving());
}

TEST_F(HeldLines, OfAnIdleControllerKeepNobodyWaiting) {
    fake.clock.wait(Microseconds{5'500'000}); // a hello and five beats
    fake.unplug(0);                           // that nobody has read
    const auto summary = run();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_TRUE(summary->as_planned);
    EXPECT_EQ(ordered("resend,0"), 1U);
    EXPECT_EQ(count_of(log(), "beat,5,"), 0U); // they belong to no log
    expect_complete();
}

TEST_F(HeldLines, ThatAreNeverSentEndTheWait) {
    fake.clock.wait(Microseconds{5'500'000});
    fake.unplug(0);
    fake.arrives = [](const std::string& line) { return !line.starts_with("resend"); };
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("does not send them"), std::string::npos);
    EXPECT_EQ(fake.acknowledged(), -1);
    EXPECT_EQ(folder.entries(), 0);
}

TEST_F(HeldLines, AreLookedAtOnABadWireToo) {
    kill_in_mid_run();
    int lines = 0;
    fake.wire = [&](std::string line) { return ++lines % 4 == 0 ? std::string{} : line; };
    const auto acknowledged = fake.acknowledged();
    ASSERT_FALSE(other_run(false));
    EXPECT_EQ(fake.acknowledged(), acknowledged);
    EXPECT_EQ(fake.starts(), 1);
}

TEST_F(Recorder, HaltsARunInWhichNothingMovesAnyMore) {
    fake.drop_every_us = 500'000'000;
    const auto summary = run();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "standstill");
    EXPECT_FALSE(fake.moving());
    EXPECT_LT(fake.now_us(), 20'000'000);
}

TEST_F(Recorder, DoesNotWaitForEverForABeat) {
    fake.wire = [](std::string line) { return line.starts_with("beat,") ? "" : line; };
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_EQ(fake.starts(), 0);
    EXPECT_LT(fake.now_us(), 60'000'000);
}

} // namespace
} // namespace dropledger::recorder
