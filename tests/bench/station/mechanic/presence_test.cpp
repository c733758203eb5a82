#include "bench/station/mechanic/presence.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::station;

namespace {

constexpr Microseconds begun{1'000'000};

} // namespace

TEST(Presence, CountsWhoeverConfirmedTheStart) {
    Presence presence;
    EXPECT_FALSE(presence.living(presence_patience));
    presence.begin(begun);
    EXPECT_TRUE(presence.living(begun + presence_patience - Microseconds{1}));
    EXPECT_FALSE(presence.living(begun + presence_patience));
}

TEST(Presence, GoesOnWithEachAnswer) {
    Presence presence;
    presence.begin(begun);
    Microseconds now = begun;
    for (int i = 0; i < 100; ++i) {
        now += beat_every;
        presence.answered(presence.next_beat(), now);
        EXPECT_TRUE(presence.living(now + presence_patience - Microseconds{1}));
    }
    EXPECT_FALSE(presence.living(now + presence_patience));
}

// What was held up on the way, or is sent again and again, proves nothing.
TEST(Presence, TakesNoAnswerToAnOldBeatAndNoneToABeatThatWasNeverAsked) {
    Presence presence;
    presence.begin(begun);
    const std::uint64_t old = presence.next_beat();
    for (int i = 0; i < 10; ++i)
        static_cast<void>(presence.next_beat());
    const Microseconds late = begun + presence_patience;
    presence.answered(old, late);
    EXPECT_FALSE(presence.living(late));
    presence.answered(1'000'000, late);
    EXPECT_FALSE(presence.living(late));
    presence.answered(presence.next_beat(), late);
    EXPECT_TRUE(presence.living(late));
}
