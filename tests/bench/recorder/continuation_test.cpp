// Drops that are left when a run has lost its host: another start makes them, confirmed anew.
#include "a_recorder.hpp"

namespace dropledger::recorder {
namespace {

class Continuation : public Recorder {
protected:
    // A run that has lost its line for so long that the controller halted by itself; its process
    // has no leave for another start.
    void lose_the_host(std::int64_t drops = 100) {
        fake.at(2'000'000, [this] { fake.unplug(3'500'000); });
        const auto left = run(drops);
        ASSERT_TRUE(left) << left.error().message();
        EXPECT_TRUE(left->left_open);
        EXPECT_FALSE(left->as_planned);
        EXPECT_EQ(count_of(log(), "halted,"), 1U);
        EXPECT_EQ(count_of(log(), "@close,") + count_of(log(), "@ending,"), 0U);
    }
    [[nodiscard]] std::size_t drops_made() const { return count_of(log(), "drop,"); }
};

TEST_F(Continuation, MakesWhatIsLeftInTheSameLog) {
    lose_the_host();
    const std::size_t made = drops_made();
    ASSERT_GT(made, 0U);
    ASSERT_LT(made, 100U);
    const auto whole = go_on();
    ASSERT_TRUE(whole) << whole.error().message();
    EXPECT_EQ(whole->end_reason, "count");
    EXPECT_TRUE(whole->as_planned);
    EXPECT_TRUE(whole->remainder.empty());
    EXPECT_EQ(drops_made(), 100U);
    EXPECT_EQ(fake.starts(), 2);
    EXPECT_EQ(count_of(log(), "@confirmed,"), 2U);
    EXPECT_EQ(ordered("arm,single,180000,1,250000,1," + std::to_string(100 - made)), 1U);
    expect_complete();
    expect_all_made();
    EXPECT_EQ(integrity_of(log()).starts, 2U);
}

TEST_F(Continuation, OfAResumedRunNeedsALeaveOfThisProcess) {
    lose_the_host();
    const auto again = resume(plan_of(0), path, bench(), hooks);
    ASSERT_TRUE(again) << again.error().message();
    EXPECT_TRUE(again->left_open);
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_EQ(count_of(log(), "@close,"), 0U);
}

TEST_F(Continuation, IsNotMadeWhereTheLogIsToBeClosed) {
    lose_the_host();
    RunPlan plan = plan_of(0);
    plan.closes_unfinished = true;
    const auto closed = resume(std::move(plan), path, bench(), hooks);
    ASSERT_TRUE(closed) << closed.error().message();
    EXPECT_FALSE(closed->left_open);
    EXPECT_EQ(closed->end_reason, "host_silent");
    EXPECT_EQ(count_of(log(), "@close,host_silent,"), 1U);
    EXPECT_EQ(fake.starts(), 1);
    const auto late = go_on();
    EXPECT_FALSE(late);
    EXPECT_EQ(fake.starts(), 1);
}

TEST_F(Continuation, IsNotMadeAfterAReset) {
    lose_the_host();
    fake.boot();
    const auto closed = go_on();
    ASSERT_TRUE(closed) << closed.error().message();
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_FALSE(closed->as_planned);
    EXPECT_EQ(count_of(log(), "@close,"), 1U);
}

TEST_F(Continuation, IsNotMadeAfterAnEmergencyStop) {
    fake.at(2'000'000, [this] { fake.fault("estop"); });
    fake.at(2'000'000, [this] { fake.unplug(60'000'000); });
    ASSERT_FALSE(run(100)); // the line does not come back
    fake.clock.wait(Microseconds{60'000'000});
    const auto closed = go_on();
    ASSERT_TRUE(closed) << closed.error().message();
    EXPECT_EQ(closed->end_reason, "estop");
    EXPECT_EQ(fake.starts(), 1);
}

TEST_F(Continuation, IsNotMadeWhereLinesAreLost) {
    bool loses = false;
    fake.loses = [&](std::uint32_t) { return std::exchange(loses, false); };
    fake.at(1'500'000, [&] { loses = true; });
    fake.at(2'000'000, [this] { fake.unplug(3'500'000); });
    const auto closed = run(100);
    ASSERT_TRUE(closed) << closed.error().message();
    EXPECT_FALSE(closed->left_open);
    EXPECT_EQ(count_of(log(), "@close,"), 1U);
}

TEST_F(Continuation, GoesOnWithOneThatLostItsHostToo) {
    lose_the_host();
    fake.at(fake.now_us() + 2'000'000, [this] { fake.unplug(3'500'000); });
    const auto again = go_on();
    ASSERT_TRUE(again) << again.error().message();
    EXPECT_TRUE(again->left_open);
    const auto whole = go_on();
    ASSERT_TRUE(whole) << whole.error().message();
    EXPECT_TRUE(whole->as_planned);
    EXPECT_EQ(fake.starts(), 3);
    EXPECT_EQ(drops_made(), 100U);
    expect_complete();
}

TEST_F(Continuation, StartsOnceWhereTheGoIsRepeated) {
    lose_the_host();
    int goes = 0;
    fake.arrives = [&](const std::string& line) { return !line.starts_with("go*") || ++goes > 2; };
    ASSERT_TRUE(go_on());
    EXPECT_EQ(fake.starts(), 2);
    EXPECT_EQ(count_of(log(), "@confirmed,"), 2U);
    expect_complete();
}

TEST_F(Continuation, IsNotStartedTwiceWhenItsProcessWasKilledJustAfterGo) {
    lose_the_host();
    std::string at_go;
    fake.forgets = false; // as if nothing had been acknowledged since
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("go*"))
            at_go = log();
        return true;
    };
    ASSERT_TRUE(go_on());
    files::put_content(path, at_go);
    const auto again = go_on();
    ASSERT_TRUE(again) << again.error().message();
    EXPECT_EQ(again->end_reason, "count");
    EXPECT_EQ(fake.starts(), 2);
    EXPECT_EQ(drops_made(), 100U);
    expect_complete();
    expect_all_made();
}

TEST_F(Continuation, OfWhatWasArmedAndNeverStartedMakesTheWholeOrder) {
    fake.arrives = [](const std::string& line) { return !line.starts_with("go*"); };
    fake.at(1'500'000, [this] { fake.unplug(3'500'000); });
    static_cast<void>(run(30));
    ASSERT_EQ(fake.starts(), 0);
    ASSERT_EQ(count_of(log(), "@close,"), 0U);
    fake.arrives = [](const std::string&) { return true; };
    const auto whole = go_on();
    ASSERT_TRUE(whole) << whole.error().message();
    EXPECT_TRUE(whole->as_planned);
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_EQ(drops_made(), 30U);
    expect_complete();
}

TEST_F(Continuation, StartsNothingOnAConfirmationThatIsOld) {
    lose_the_host();
    RunPlan plan = leave(plan_of(0));
    fake.clock.wait(Microseconds{121'000'000});
    const auto late = resume(std::move(plan), path, bench(), hooks);
    ASSERT_FALSE(late);
    EXPECT_NE(late.error().what.find("long after the start was confirmed"), std::string::npos);
    EXPECT_EQ(fake.starts(), 1);
    EXPECT_EQ(count_of(log(), "@close,"), 0U); // and may be gone on with yet
}

TEST_F(Continuation, CountsTheDropsOfBothStarts) {
    lose_the_host();
    const auto whole = go_on();
    ASSERT_TRUE(whole);
    EXPECT_EQ(whole->tally.channels().at(0).drops, 100U);
    EXPECT_EQ(whole->tally.channels().at(0).settled, 100U);
}

TEST_F(Continuation, HasItsConfirmationInTheFileBeforeGo) {
    lose_the_host();
    bool seen = false;
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("go*")) {
            seen = true;
            EXPECT_EQ(count_of(log(), "@confirmed,"), 2U);
            EXPECT_EQ(count_of(log(), "@sent,go"), 2U);
        }
        return true;
    };
    ASSERT_TRUE(go_on());
    EXPECT_TRUE(seen);
}

TEST(RestOf, IsWhatAllChannelsLackThatLackAny) {
    const ArmOrder order{.channel_mask = 7, .drops = 5};
    LiveTally tally;
    const auto drop = [&](int channel, std::uint32_t index) {
        const std::string line = droplog::drop_line({index, index}, {channel, index, 0, 1});
        tally.take(droplog::decode(line), line);
    };
    for (std::uint32_t i = 0; i < 5; ++i)
        drop(0, i);
    for (std::uint32_t i = 0; i < 3; ++i)
        drop(1, i);
    for (std::uint32_t i = 0; i < 2; ++i)
        drop(2, i);
    const auto rest = rest_of(order, tally);
    ASSERT_TRUE(rest);
    EXPECT_EQ(rest->channel_mask, 6U);
    EXPECT_EQ(rest->drops, 2);
}

} // namespace
} // namespace dropledger::recorder
