// Constructed by hand from definitions, sections 1 and 2.
#include "analysis/ledger/assignment.hpp"
#include "tests/analysis/ledger/ledger_of.hpp"

#include <gtest/gtest.h>

using namespace dropledger::ledger;

namespace {

using Counts = std::vector<std::uint32_t>;

Kept by_place(const std::vector<std::int64_t>& drops, const std::vector<std::int64_t>& landings,
              std::int64_t registration_um = 0) {
    Kept kept;
    AssignmentByPlace assignment{kept, 100, registration_um};
    for (std::size_t i = 0; i < drops.size(); ++i)
        assignment.drop({.index = static_cast<std::uint32_t>(i), .position_um = drops[i]});
    for (const std::int64_t landing : landings)
        assignment.landing({.position_um = landing});
    assignment.end_segment();
    return kept;
}

} // namespace

TEST(AssignmentByPlace, GivesALandingToTheNearestDropAndATieToTheEarlier) {
    EXPECT_EQ(by_place({0, 100, 200}, {50, 51, 149, 150, 151}).counts(), (Counts{1, 3, 1}));
}

TEST(AssignmentByPlace, MeasuresNearnessFromTheExpectedPlaceAndErrorsFromTheCommandedOne) {
    const Kept kept = by_place({0, 100, 200}, {70, 80, 81}, 30);
    EXPECT_EQ(kept.counts(), (Counts{2, 1, 0}));
    EXPECT_EQ(kept.errors, (std::vector<std::int64_t>{70, 80, -19}));
}

TEST(AssignmentByPlace, CallsAStrayWhatLiesOverHalfASpacingBeyondTheEnds) {
    const Kept kept = by_place({0, 100}, {-51, -50, 0, 150, 151});
    EXPECT_EQ(kept.counts(), (Counts{2, 1}));
    EXPECT_EQ(kept.strays, (std::vector<std::int64_t>{-51, 151}));
}

TEST(AssignmentByPlace, KnowsNoStraysInAWideGapBetweenDrops) {
    EXPECT_EQ(by_place({0, 1'000}, {400, 500, 501}).counts(), (Counts{2, 1}));
}

TEST(AssignmentByPlace, CallsEverythingAStrayWhereNothingWasCommanded) {
    EXPECT_EQ(by_place({}, {1, 2}).strays.size(), 2U);
}

TEST(AssignmentByPlace, GivesDropsForOnePlaceToTheEarliest) {
    EXPECT_EQ(by_place({0, 100, 100, 200}, {99, 101, 160}).counts(), (Counts{0, 2, 0, 1}));
    EXPECT_EQ(by_place({0, 100, 100}, {110, 151}).strays.size(), 1U);
}

TEST(AssignmentByPlace, RetiresADropOnlyWhenNothingCanFallToItAnyMore) {
    Kept kept;
    AssignmentByPlace assignment{kept, 100, 0};
    assignment.drop({.index = 0, .position_um = 0});
    assignment.drop({.index = 1, .position_um = 100});
    assignment.settled(50);
    EXPECT_TRUE(kept.entries.empty());
    assignment.landing({.position_um = 50});
    assignment.settled(51);
    ASSERT_EQ(kept.entries.size(), 1U);
    EXPECT_EQ(kept.entries[0].seeds, 1U);
    assignment.settled(100'000);
    EXPECT_EQ(kept.entries.size(), 1U); // the last one stays open for what is yet to be commanded
    assignment.end_segment();
    EXPECT_EQ(kept.entries.size(), 2U);
}

TEST(AssignmentByPlace, WaitsForTheNextDropBeforeItDecides) {
    Kept kept;
    AssignmentByPlace assignment{kept, 100, 0};
    assignment.drop({.index = 0, .position_um = 0});
    assignment.landing({.position_um = 90});
    assignment.settled(90);
    EXPECT_TRUE(kept.errors.empty());
    assignment.drop({.index = 1, .position_um = 100});
    assignment.settled(95);
    EXPECT_EQ(kept.errors, (std::vector<std::int64_t>{-10}));
}

TEST(AssignmentByTime, GivesASeedToTheFirstOpeningAfterIt) {
    Kept kept;
    AssignmentByTime assignment{kept};
    for (std::uint32_t i = 0; i < 3; ++i)
        assignment.drop({.index = i, .time_us = 1'000 * (i + 1)});
    for (const std::int64_t time : {5, 999, 1'000, 1'500, 2'999, 3'000, 4'000})
        assignment.landing({.time_us = time});
    assignment.end_segment();
    EXPECT_EQ(kept.counts(),
              (Counts{2, 2, 1})); // what is seen in an opening's own instant is for the next
    EXPECT_EQ(kept.strays.size(), 2U);
}

TEST(Entry, HasItsCentroidToTheNearestMicrometre) {
    Entry entry;
    entry.seeds = 2;
    entry.sum_um = 7;
    EXPECT_EQ(entry.error_um(), 4);
    entry.sum_um = -7;
    EXPECT_EQ(entry.error_um(), -4);
    entry.seeds = 3;
    EXPECT_EQ(entry.error_um(), -2);
}
