// Motors that turn though nobody asked for it: halted, logged, never done.
#include "a_recorder.hpp"
#include "tests/bench/recorder/fewest_drops.hpp"

namespace dropledger::recorder {
namespace {

class Unasked : public Recorder {
protected:
    void expect_halted_and_told(const Result<RunSummary>& summary) const {
        ASSERT_FALSE(summary);
        EXPECT_EQ(exit_status(summary.error().kind), 74);
        EXPECT_GE(ordered("halt"), 1U);
        EXPECT_FALSE(fake.moving());
        EXPECT_TRUE(said("set in motion unasked"));
    }
    void expect_closed_and_not_complete() const {
        EXPECT_EQ(count_of(log(), "@close,unasked_start,"), 1U);
        EXPECT_TRUE(integrity_of(log()).reason_covered);
        EXPECT_FALSE(integrity_of(log()).complete());
    }
    // Says it a moment after a line of this name has gone out.
    void say_after(const std::string& name, const std::string& says, const std::string& fields) {
        fake.wire = [this, name, says, fields](std::string line) {
            if (line.starts_with(name) && !std::exchange(done, true))
                fake.at(fake.now_us() + 1'000, [this, says, fields] { fake.say(says, fields); });
            return line;
        };
    }
    // In one breath with `armed`, before a `go` can be on its way.
    void say_with_armed(const std::string& says, const std::string& fields) {
        fake.wire = [this, says, fields](std::string line) {
            if (line.starts_with("armed,") && !std::exchange(done, true))
                fake.say(says, fields);
            return line;
        };
    }
    bool done = false;
};

// 2026-11-26: a second `started` was written down, and the run went on to exit status 0.
TEST_F(Unasked, ASecondStartedEndsTheRun) {
    fake.at(2'500'000, [this] { fake.say("started", ""); });
    expect_halted_and_told(run(100));
    expect_closed_and_not_complete();
    EXPECT_LT(count_of(log(), "drop,"), 100U);
    EXPECT_EQ(ordered("go"), 1U);
}

TEST_F(Unasked, StartedThatFollowsArmByItselfIsHaltedAndNoGoIsSent) {
    say_with_armed("started", "");
    expect_halted_and_told(run(100));
    EXPECT_EQ(ordered("go"), 0U);
    EXPECT_EQ(count_of(log(), "@confirmed,"), 0U);
}

TEST_F(Unasked, ADropBeforeTheStartIsHalted) {
    say_with_armed("drop", ",0,0,0,1");
    expect_halted_and_told(run(100));
    expect_closed_and_not_complete();
}

TEST_F(Unasked, ADropAfterTheHaltIsHalted) {
    say_after("halted,", "drop", ",0,20,3600000,1");
    expect_halted_and_told(run(20));
    EXPECT_EQ(count_of(log(), "@close,unasked_start,"), 1U);
}

TEST_F(Unasked, AStartAfterTheHaltIsHalted) {
    say_after("halted,", "started", "");
    expect_halted_and_told(run(20));
    expect_closed_and_not_complete();
}

// 2026-11-26: what a controller did that had started anew in mid-run was never halted.
TEST_F(Unasked, AControllerThatStartsItsMotorsAfterAResetIsHalted) {
    fake.at(2'500'000, [this] { fake.boot(); });
    fake.at(2'700'000, [this] { fake.say("started", ""); });
    expect_halted_and_told(run(100));
    EXPECT_EQ(ordered("arm"), 1U);
    EXPECT_EQ(ordered("go"), 1U);
}

TEST_F(Unasked, AControllerThatStartsAgainAndAgainKeepsNobodyForEver) {
    fake.wire = [this](std::string line) {
        if (line.starts_with("halted,"))
            fake.at(fake.now_us() + 1'000, [this] { fake.say("started", ""); });
        return line;
    };
    fake.at(2'500'000, [this] { fake.say("started", ""); });
    const auto summary = run(100);
    expect_halted_and_told(summary);
    EXPECT_EQ(count_of(log(), "@close,"), 0U); // nobody knows what it does: told, not closed
    EXPECT_LT(fake.now_us(), 30'000'000);
}

TEST_F(Unasked, StaysUnaskedForWhoeverGoesOnWithTheLog) {
    fake.forgets = false; // as if nothing had been acknowledged since
    fake.at(2'500'000, [this] { fake.say("started", ""); });
    ASSERT_FALSE(run(40));
    const std::string whole = log();
    const std::size_t second = whole.find("\nstarted,", whole.find("\nstarted,") + 1);
    const std::size_t line_end = whole.find('\n', second + 1) + 1;
    files::put_content(path, whole.substr(0, line_end));
    const auto summary = go_on();
    EXPECT_FALSE(summary && summary->as_planned);
    EXPECT_EQ(count_of(log(), "@close,unasked_start,"), 1U);
    EXPECT_EQ(ordered("go"), 1U);
    EXPECT_EQ(fake.starts(), 1);
}

TEST_F(Unasked, IsNotWhatAnswersARepeatedGo) {
    int goes = 0;
    fake.arrives = [&](const std::string& line) { return !line.starts_with("go*") || ++goes > 2; };
    const auto summary = run(20);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_TRUE(summary->as_planned);
}

TEST_F(Unasked, IsNotWhatComesAfterALostLineOrAReconnect) {
    fake.at(1'300'000, [this] { fake.unplug(700'000); });
    const auto summary = run(40);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_TRUE(summary->as_planned);
}

// Killed between @ending and @close: the reason is written already.
TEST_F(Recorder, ClosesWithTheReasonThatItsEndingNames) {
    hooks.stop = [](const LiveTally& tally) {
        return fewest_drops(tally) >= 7 ? std::optional<std::string>{"decided"} : std::nullopt;
    };
    ASSERT_TRUE(run(1000));
    files::put_content(path, log().substr(0, log().rfind("@close")));
    hooks.stop = Hooks{}.stop;
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "decided");
    EXPECT_TRUE(integrity_of(log()).reason_covered);
    expect_complete();
}

TEST_F(Recorder, StartsNothingInALogWithAnEnding) {
    fake.refuses = [](const std::string& name) { return name == "arm" ? "guard" : ""; };
    ASSERT_FALSE(run());
    const std::size_t armed = ordered("arm");
    files::put_content(path, log().substr(0, log().rfind("@close")));
    fake.refuses = [](const std::string&) { return ""; };
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "refused");
    EXPECT_EQ(ordered("arm"), armed);
    EXPECT_EQ(fake.starts(), 0);
}

} // namespace
} // namespace dropledger::recorder
