// Constructed by hand from definitions, section 2.
#include "analysis/measures/entries.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::measures;
using ledger::Mode;

namespace {

ledger::Entry entry_of(std::uint32_t seeds, std::uint32_t target = 1, std::int64_t spread_um = 0) {
    ledger::Entry entry;
    entry.drop.target = target;
    entry.seeds = seeds;
    entry.last_um = spread_um;
    return entry;
}

} // namespace

TEST(Entries, NameSinglesByTheirNumber) {
    EXPECT_EQ(kind_of(entry_of(0), Mode::single), EntryKind::miss);
    EXPECT_EQ(kind_of(entry_of(1), Mode::single), EntryKind::single);
    EXPECT_EQ(kind_of(entry_of(2), Mode::single), EntryKind::multiple);
}

TEST(Entries, NamePortionsAgainstTheirTarget) {
    EXPECT_EQ(kind_of(entry_of(0, 5), Mode::portion), EntryKind::empty);
    EXPECT_EQ(kind_of(entry_of(4, 5), Mode::portion), EntryKind::shorted);
    EXPECT_EQ(kind_of(entry_of(5, 5), Mode::portion), EntryKind::exact);
    EXPECT_EQ(kind_of(entry_of(6, 5), Mode::portion), EntryKind::over);
}

TEST(Entries, StopWhereTheTableDoesNotBalance) {
    EntryTally tally{Mode::single};
    tally.add(entry_of(1));
    EXPECT_THROW(tally.check_identities(0), BrokenInvariant); // its seed was never handed over
    tally.add_seeds(1);
    EXPECT_NO_THROW(tally.check_identities(0));
    tally.add_stray(1);
    EXPECT_THROW(tally.check_identities(0), BrokenInvariant);
    tally.add_seeds(1);
    EXPECT_NO_THROW(tally.check_identities(0));
}

TEST(Entries, DescribePortions) {
    EntryTally tally{Mode::portion};
    for (const std::uint32_t seeds : {0U, 4U, 5U, 5U, 6U})
        tally.add(entry_of(seeds, 5, seeds * 1'000));
    const auto portion = tally.portion(Confidence{0.95});
    ASSERT_TRUE(portion);
    EXPECT_NEAR(portion->mean_count->value, 4.0, 1e-12);
    EXPECT_NEAR(portion->exact_share->value, 0.4, 1e-12);
    EXPECT_EQ(portion->exact_share->events, 2); // rows of portions that are not exact
    EXPECT_NEAR(portion->spread_mm->value, 5.0,
                1e-12); // mean of last − first, where there are two or more
    EXPECT_EQ(portion->count_distribution, (std::vector<std::int64_t>{1, 0, 0, 0, 1, 2, 1}));
    EXPECT_FALSE(EntryTally{Mode::single}.portion(Confidence{0.95}));
    EXPECT_FALSE(EntryTally{Mode::portion}.portion(Confidence{0.95}));
}

TEST(KindSequence, FindsNothingAgainstEvenlyMixedEntries) {
    KindSequence sequence;
    unsigned state = 1;
    for (int i = 0; i < 2000; ++i) {
        state = state * 1664525U + 1013904223U;
        sequence.add((state >> 24U) < 20U);
    }
    EXPECT_TRUE(sequence.independence().holds);
    EXPECT_EQ(sequence.crowding(), 1.0);
    EXPECT_LT(sequence.independence().inflation, 1.3);
}

// On healthy units of 250 to 1,000 drops, for misses and multiples together; 11 to 20 % once.
TEST(KindSequence, SpeaksUpOnFiveInAHundredHealthyUnitsAtMost) {
    std::mt19937_64 random{5};
    std::uniform_real_distribution<double> uniform;
    constexpr int units = 600;
    for (const int drops : {250, 500, 1000}) {
        int alarms = 0;
        for (int unit = 0; unit < units; ++unit) {
            KindSequence misses;
            KindSequence multiples;
            for (int drop = 0; drop < drops; ++drop) {
                const double u = uniform(random);
                misses.add(u < 0.015);
                multiples.add(u > 0.98);
            }
            alarms += misses.independence().holds && multiples.independence().holds ? 0 : 1;
        }
        EXPECT_LE(alarms, 0.05 * units + 2.0 * std::sqrt(0.05 * 0.95 * units)) << drops;
    }
}

TEST(KindSequence, CountsStartsThatCrowdInPartsOfTheRun) {
    KindSequence sequence;
    for (int i = 0; i < 1000; ++i)
        sequence.add(i % 4 == 0 && i % 200 < 50);
    EXPECT_GT(sequence.crowding(), 3.0);
    EXPECT_LT(sequence.independence().clustered_p, 1e-3);
    EXPECT_TRUE(sequence.rows().isolated());
}

// The share asked for last is kept: one more entry, or another confidence, must not get it.
TEST(KindSequence, GivesTheShareOfWhatIsInItNow) {
    KindSequence asked;
    for (int i = 0; i < 400; ++i) {
        const bool hit = i % 20 < 2;
        asked.add(hit);
        KindSequence fresh;
        for (int k = 0; k <= i; ++k)
            fresh.add(k % 20 < 2);
        for (const double level : {0.9, 0.95}) {
            if (i % 37 != 0 && i != 399)
                continue;
            const auto now = asked.share(dropledger::Confidence{level});
            const auto anew = fresh.share(dropledger::Confidence{level});
            ASSERT_TRUE(now && anew);
            EXPECT_EQ(now->value, anew->value);
            EXPECT_EQ(now->interval->low, anew->interval->low);
            EXPECT_EQ(now->interval->high, anew->interval->high);
        }
    }
}

TEST(KindSequence, MeasuresBursts) {
    KindSequence sequence;
    for (int i = 0; i < 500; ++i)
        sequence.add(i % 50 < 4);
    const Independence found = sequence.independence();
    EXPECT_FALSE(found.holds);
    EXPECT_GT(found.inflation, 4.0);
}

TEST(KindSequence, MeasuresBurstsInRunsTooShortForBlocks) {
    KindSequence sequence;
    for (int i = 0; i < 60; ++i)
        sequence.add(i >= 20 && i < 30);
    EXPECT_FALSE(sequence.independence().holds);
    EXPECT_GT(sequence.independence().inflation, 4.0);
}

TEST(KindSequence, NeverCountsEvenlySpacedOnesForMore) {
    KindSequence sequence;
    for (int i = 0; i < 1000; ++i)
        sequence.add(i % 10 == 0);
    EXPECT_LT(sequence.independence().runs_p, 0.01); // too many rows: periodic
    EXPECT_EQ(sequence.independence().inflation, 1.0);
}
