#include "analysis/droplog/sequence.hpp"

#include <gtest/gtest.h>

using namespace dropledger::droplog;

namespace {

Place place(Sequence& sequence, const std::string& line, std::string_view boot = {}) {
    return sequence.place(decode(line), boot);
}
Place travel(Sequence& sequence, std::uint32_t seq, std::int64_t position_um = 0) {
    return place(sequence, travel_line({seq, 0}, position_um));
}
Place hello(Sequence& sequence, std::uint32_t seq, const std::string& boot) {
    return place(sequence, hello_line({seq, 0}, {1, boot, 1, "fw"}), boot);
}

} // namespace

TEST(Sequence, TakesEachNextLine) {
    Sequence sequence;
    EXPECT_EQ(hello(sequence, 0, "A"), Place::new_boot);
    EXPECT_EQ(sequence.skipped(), 0U);
    EXPECT_EQ(travel(sequence, 1), Place::next);
    EXPECT_EQ(travel(sequence, 2), Place::next);
    EXPECT_EQ(sequence.next(), 3U);
}

TEST(Sequence, CountsAHoleAndTakesALineThatLaterFillsItForOutOfOrder) {
    Sequence sequence;
    hello(sequence, 0, "A");
    EXPECT_EQ(travel(sequence, 4), Place::after_gap);
    EXPECT_EQ(sequence.skipped(), 3U);
    EXPECT_EQ(travel(sequence, 5), Place::next);
    EXPECT_EQ(sequence.skipped(), 0U);
    EXPECT_EQ(travel(sequence, 2), Place::out_of_order);
}

TEST(Sequence, TellsARepeatFromAConflict) {
    Sequence sequence;
    hello(sequence, 0, "A");
    travel(sequence, 1, 500);
    travel(sequence, 2, 600);
    EXPECT_EQ(travel(sequence, 1, 500), Place::repeated);
    EXPECT_EQ(travel(sequence, 1, 501), Place::conflicting);
    EXPECT_EQ(place(sequence, beat_line({1, 0}, 0, 0)), Place::conflicting);
    EXPECT_EQ(travel(sequence, 3), Place::next);
}

TEST(Sequence, ComparesALineAsFarBackAsItsMemoryReaches) {
    Sequence sequence;
    for (std::uint32_t seq = 0; seq <= Sequence::memory; ++seq)
        travel(sequence, seq);
    EXPECT_EQ(travel(sequence, 1), Place::repeated);
    EXPECT_EQ(travel(sequence, 0), Place::out_of_order);
}

TEST(Sequence, BeginsWhereALogBeginsInTheMiddleOfABoot) {
    Sequence sequence;
    EXPECT_EQ(travel(sequence, 100), Place::new_boot);
    EXPECT_EQ(sequence.skipped(), 0U);
    EXPECT_EQ(travel(sequence, 99), Place::out_of_order);
    EXPECT_EQ(hello(sequence, 101, "A"),
              Place::next); // on request: names the boot that runs already
    EXPECT_EQ(sequence.boot(), "A");
    EXPECT_EQ(hello(sequence, 102, "A"), Place::next);
}

TEST(Sequence, BeginsAtAFirstHelloThatIsNotTheBootsFirstLine) {
    Sequence sequence;
    EXPECT_EQ(hello(sequence, 17, "A"), Place::new_boot);
    EXPECT_EQ(sequence.skipped(), 0U);
}

TEST(Sequence, StartsAgainFromZeroAfterABootInMidRun) {
    Sequence sequence;
    hello(sequence, 0, "A");
    travel(sequence, 1, 500);
    EXPECT_EQ(hello(sequence, 0, "B"), Place::new_boot);
    EXPECT_EQ(sequence.skipped(), 0U);
    EXPECT_EQ(travel(sequence, 1, 700), Place::next); // not a conflict with boot A's line 1
    EXPECT_EQ(hello(sequence, 3, "C"), Place::new_boot);
    EXPECT_EQ(sequence.skipped(), 3U);
    EXPECT_EQ(travel(sequence, 1, 700), Place::out_of_order);
}

TEST(Sequence, TakesALowerHelloAfterUnnamedLinesForANewBoot) {
    Sequence sequence;
    travel(sequence, 100);
    EXPECT_EQ(hello(sequence, 0, "A"), Place::new_boot);
}

TEST(Sequence, WrapsAtTwoToTheThirtyTwo) {
    Sequence sequence;
    travel(sequence, 0xFFFFFFFEU, 1);
    EXPECT_EQ(travel(sequence, 0xFFFFFFFFU, 2), Place::next);
    EXPECT_EQ(travel(sequence, 0, 3), Place::next);
    EXPECT_EQ(travel(sequence, 0xFFFFFFFFU, 2), Place::repeated);
    EXPECT_EQ(travel(sequence, 3, 4), Place::after_gap);
    EXPECT_EQ(sequence.skipped(), 2U);
}

TEST(Sequence, ForgetsWhatAHugeHoleCovers) {
    Sequence sequence;
    travel(sequence, 5, 1);
    EXPECT_EQ(travel(sequence, 5 + Sequence::memory, 2), Place::after_gap);
    EXPECT_EQ(sequence.skipped(), Sequence::memory - 1);
    EXPECT_EQ(travel(sequence, 6, 3), Place::out_of_order);
}

TEST(Clock64, StartsAtTheFirstTickAndGoesOnAcrossTheWrap) {
    Clock64 clock;
    EXPECT_EQ(clock.time_us(4'294'967'290U), 4'294'967'290);
    EXPECT_EQ(clock.time_us(10), 4'294'967'306);
    EXPECT_EQ(clock.time_us(1'000'010), 4'295'967'306);
}

TEST(Clock64, GoesBackFiftyMillisecondsAcrossTheWrapAndForthAgain) {
    Clock64 clock;
    EXPECT_EQ(clock.time_us(4'294'967'000U), 4'294'967'000);
    const std::int64_t after_us = clock.time_us(20'000);
    EXPECT_EQ(clock.time_us(4'294'937'296U), after_us - 50'000);
    EXPECT_EQ(clock.time_us(20'000), after_us);
}

TEST(Clock64, CountsManyWraps) {
    Clock64 clock;
    std::uint32_t tick_us = 0;
    std::int64_t time_us = clock.time_us(tick_us);
    for (int i = 0; i < 20'000; ++i) {
        tick_us += 1'000'000;
        ASSERT_EQ(clock.time_us(tick_us), time_us += 1'000'000);
    }
}

TEST(Clock64, StartsAnewWhenTold) {
    Clock64 clock;
    EXPECT_EQ(clock.time_us(4'000'000'000U), 4'000'000'000);
    clock.restart();
    EXPECT_EQ(clock.time_us(17), 17);
}
