// What drops and landings say of the evidence itself, one by one.
#include "analysis/audit/doubt/evidence_watch.hpp"

#include <gtest/gtest.h>

#include <initializer_list>

using namespace dropledger;
using namespace dropledger::audit;

namespace {

ledger::RunSetup single_at(std::int64_t spacing_um, std::int64_t speed_um_s) {
    ledger::RunSetup setup;
    setup.mode = ledger::Mode::single;
    setup.spacing_um = spacing_um;
    setup.speed_um_s = speed_um_s;
    return setup;
}

// Drop k opens at k · step_us; its seed comes `delay_us` later.
DropEvidence evidence_of(std::int64_t step_us, std::int64_t delay_us) {
    EvidenceWatch watch(single_at(180'000, 250'000));
    for (std::uint32_t k = 0; k < 100; ++k) {
        const std::int64_t opened_us = 1'000'000 + k * step_us;
        watch.add({.drop = {.index = k, .position_um = k * 180'000, .time_us = opened_us},
                   .seeds = 1,
                   .first_time_us = opened_us + delay_us});
    }
    return watch.found();
}

DropEvidence landed_at(std::initializer_list<std::int64_t> times_us) {
    DropEvidence evidence;
    evidence.landed_us = times_us;
    return evidence;
}

} // namespace

TEST(EvidenceWatch, KnowsThatNoSeedComesBeforeItsValveOpens) {
    EXPECT_EQ(evidence_of(720'000, 90'000).before_opening, 0);
    EXPECT_EQ(evidence_of(720'000, 90'000).behind_the_next, 0);
    EXPECT_EQ(evidence_of(720'000, 90'000 - 720'000).before_opening, 100);
}

TEST(EvidenceWatch, CountsSeedsBehindTheNextOpeningOnlyWhereNoneFallsThatLong) {
    EXPECT_EQ(evidence_of(720'000, 90'000 + 720'000).behind_the_next, 99);
    EXPECT_EQ(evidence_of(100'000, 190'000).behind_the_next, 0);
}

TEST(EvidenceWatch, CountsSeedsOfALineWithinAMillisecond) {
    ledger::RunSetup setup;
    setup.mode = ledger::Mode::line;
    EvidenceWatch watch(setup);
    for (const std::int64_t time_us : {0, 900, 20'000, 40'000})
        watch.add_in_line({.position_um = time_us / 4, .time_us = time_us});
    watch.segment_ended();
    watch.add_in_line({.position_um = 0, .time_us = 40'500});
    EXPECT_EQ(watch.found().line.landings, 5);
    EXPECT_EQ(watch.found().line.close, 1);
    EXPECT_EQ(watch.found().line.took_us, 40'000);
    EXPECT_EQ(watch.found().line.way_um, 10'000);
}

// Every tenth drop has a second pulse, at one time with the other channel's seed.
TEST(Overheard, CountsSeedsTooManyThatComeWithAnothersSeed) {
    EvidenceWatch watch(single_at(180'000, 250'000));
    DropEvidence other;
    for (std::uint32_t k = 0; k < 100; ++k) {
        const std::int64_t opened_us = 1'000'000 + k * 720'000;
        other.landed_us.push_back(opened_us + 300'000);
        watch.add_landing(opened_us + 290'000);
        if (k % 10 == 0)
            watch.add_landing(opened_us + 300'100);
        watch.add({.drop = {.index = k, .position_um = k * 180'000, .time_us = opened_us},
                   .seeds = k % 10 == 0 ? 2U : 1U,
                   .first_time_us = opened_us + 290'000});
    }
    const Overheard heard = overheard(watch.found(), other);
    EXPECT_EQ(heard.drops, 10);
    EXPECT_EQ(heard.heard, 10);
    EXPECT_NEAR(heard.by_chance, 0.0, 1e-12);
    for (std::int64_t& time_us : other.landed_us)
        time_us -= 10'000; // all seeds come at one time: that doubles do says nothing
    EXPECT_NEAR(overheard(watch.found(), other).by_chance, 1.0, 1e-12);
}

TEST(Coincidences, AreOfOneLagWhateverItIs) {
    const DropEvidence first = landed_at({10'000, 20'000, 31'000, 40'000});
    EXPECT_EQ(coincidences(first, landed_at({10'101, 20'100, 31'099, 43'000})).seeds, 3);
    EXPECT_EQ(coincidences(first, landed_at({10'101, 20'100, 31'099, 43'000})).lag_us, 100);
    EXPECT_EQ(coincidences(first, landed_at({10'100, 20'900, 30'300, 43'000})).seeds, 1);
    EXPECT_EQ(coincidences(first, landed_at({90'000})).seeds, 0);
}
