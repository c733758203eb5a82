#include "bench/recorder/protocol/lines/arrivals.hpp"

#include <gtest/gtest.h>

namespace dropledger::recorder {
namespace {

constexpr Microseconds interval{100'000};

droplog::Record line(droplog::LineName name, std::uint32_t seq, std::uint32_t tick_us) {
    droplog::Record record;
    record.name = name;
    record.seq = seq;
    record.tick_us = tick_us;
    return record;
}

class ArrivalsOfABoot : public testing::Test {
protected:
    ArrivalsOfABoot() { EXPECT_EQ(hello(0, "A"), Arrival::taken); }

    Arrival hello(std::uint32_t seq, const char* boot) {
        arrivals.came(seq);
        return arrivals.judge(line(droplog::LineName::hello, seq, seq * 1000), boot, now);
    }
    Arrival travel(std::uint32_t seq) { return travel(seq, seq * 1000); }
    Arrival travel(std::uint32_t seq, std::uint32_t tick_us) {
        arrivals.came(seq);
        const Arrival arrival =
            arrivals.judge(line(droplog::LineName::travel, seq, tick_us), "", now);
        if (arrival == Arrival::early)
            arrivals.hold(seq, std::to_string(seq));
        return arrival;
    }

    Arrivals arrivals{interval};
    Microseconds now{1'000'000};
};

TEST(Arrivals, TakesNothingBeforeTheFirstHello) {
    Arrivals arrivals{interval};
    EXPECT_EQ(arrivals.judge(line(droplog::LineName::travel, 7, 0), "", {}), Arrival::foreign);
    EXPECT_FALSE(arrivals.last_taken());
    EXPECT_EQ(arrivals.judge(line(droplog::LineName::hello, 8, 0), "A", {}), Arrival::taken);
    EXPECT_EQ(arrivals.last_taken(), 8U);
}

TEST_F(ArrivalsOfABoot, TakesOnlyTheNext) {
    EXPECT_EQ(travel(1), Arrival::taken);
    EXPECT_EQ(travel(1), Arrival::repeated);
    EXPECT_EQ(travel(3), Arrival::early);
    EXPECT_EQ(arrivals.last_taken(), 1U);
    EXPECT_EQ(travel(2), Arrival::taken);
}

TEST_F(ArrivalsOfABoot, AsksOnceForAGapWhileItsAnswerIsOnTheWay) {
    EXPECT_FALSE(arrivals.ask_now(now));
    static_cast<void>(travel(2));
    EXPECT_EQ(arrivals.ask_now(now), 1U);
    static_cast<void>(travel(3));
    EXPECT_FALSE(arrivals.ask_now(now));
    now += 2 * interval;
    static_cast<void>(travel(4));
    EXPECT_FALSE(arrivals.ask_now(now));
}

TEST_F(ArrivalsOfABoot, AsksAgainWhenTheAnswerHasGonePastWhatIsMissing) {
    static_cast<void>(travel(3));
    EXPECT_EQ(arrivals.ask_now(now), 1U);
    now += interval;
    EXPECT_EQ(travel(1), Arrival::taken); // the answer begins; 2 was damaged in it
    EXPECT_EQ(travel(3), Arrival::early);
    EXPECT_EQ(arrivals.ask_now(now), 2U);
}

TEST_F(ArrivalsOfABoot, AsksAgainWhenNoAnswerComes) {
    static_cast<void>(travel(2));
    EXPECT_EQ(arrivals.ask_now(now), 1U);
    now += 4 * interval;
    EXPECT_EQ(arrivals.ask_now(now), 1U);
}

TEST_F(ArrivalsOfABoot, GivesEarlyLinesBackInTheirTurn) {
    static_cast<void>(travel(2));
    static_cast<void>(travel(3));
    EXPECT_FALSE(arrivals.take_held());
    static_cast<void>(travel(1));
    EXPECT_EQ(arrivals.take_held(), "2");
    EXPECT_EQ(arrivals.judge(line(droplog::LineName::travel, 2, 0), "", now), Arrival::taken);
    EXPECT_EQ(arrivals.take_held(), "3");
    EXPECT_FALSE(arrivals.take_held());
}

TEST_F(ArrivalsOfABoot, BeginsAnewWithAnotherBoot) {
    static_cast<void>(travel(1));
    EXPECT_EQ(hello(0, "B"), Arrival::new_boot);
    EXPECT_EQ(arrivals.last_taken(), 0U);
    EXPECT_EQ(travel(1), Arrival::taken);
}

TEST_F(ArrivalsOfABoot, AsksForTheBeginningOfABootWhoseFirstHelloWasLost) {
    static_cast<void>(travel(1));
    EXPECT_EQ(hello(5, "B"), Arrival::new_boot);
    EXPECT_FALSE(arrivals.last_taken());
    EXPECT_EQ(arrivals.ask_now(now), 0U);
}

TEST_F(ArrivalsOfABoot, DoesNotTakeALineWhoseTickFellBackUntilTheBootIsConfirmed) {
    EXPECT_EQ(travel(1, 50'000'000), Arrival::taken);
    EXPECT_EQ(travel(2, 1'000), Arrival::foreign);
    EXPECT_TRUE(arrivals.suspicious());
    EXPECT_EQ(hello(3, "A"), Arrival::early);
    EXPECT_FALSE(arrivals.suspicious());
    EXPECT_EQ(travel(2, 1'000), Arrival::taken);
}

TEST_F(ArrivalsOfABoot, ToleratesTheWrapOfTheTick) {
    EXPECT_EQ(travel(1, 4'294'967'000U), Arrival::taken);
    EXPECT_EQ(travel(2, 500), Arrival::taken);
}

TEST_F(ArrivalsOfABoot, GoesOnAcrossTheWrapOfTheSequence) {
    arrivals.restore("A", 4'294'967'295U);
    EXPECT_EQ(travel(4'294'967'295U, 0), Arrival::taken);
    EXPECT_EQ(travel(0, 1), Arrival::taken);
    EXPECT_EQ(travel(4'294'967'295U, 0), Arrival::repeated);
}

} // namespace
} // namespace dropledger::recorder
