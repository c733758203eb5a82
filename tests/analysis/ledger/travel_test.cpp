// Constructed by hand from definitions, section 1.
#include "analysis/ledger/travel.hpp"

#include <gtest/gtest.h>

using namespace dropledger::ledger;

TEST(Travel, HasNoPlaceWithoutAReference) {
    EXPECT_FALSE(Travel{250'000}.landing_um(0, 0));
    EXPECT_FALSE(Travel{250'000}.newest_us());
}

TEST(Travel, TakesTheNominalSpeedFromOneReference) {
    Travel travel{250'000};
    travel.add(1'000'000, 5'000);
    EXPECT_EQ(travel.landing_um(3'000'000, 0), 505'000);
    EXPECT_EQ(travel.landing_um(3'000'000, 400'000), 605'000);
    EXPECT_EQ(travel.landing_um(0, 0), -245'000);
    Travel unknown{std::nullopt};
    unknown.add(1'000'000, 5'000);
    EXPECT_FALSE(unknown.landing_um(3'000'000, 0));
}

TEST(Travel, IsLinearBetweenReferencesAndGoesOnBeyondThem) {
    Travel travel{std::nullopt};
    travel.add(0, 0);
    travel.add(100'000, 20'000);
    travel.add(200'000, 50'000);
    EXPECT_EQ(travel.landing_um(50'000, 0), 10'000);
    EXPECT_EQ(travel.landing_um(150'000, 0), 35'000);
    EXPECT_EQ(travel.landing_um(-50'000, 0), -10'000);
    EXPECT_EQ(travel.landing_um(300'000, 0), 80'000);
}

TEST(Travel, CarriesASeedAtTheSpeedOfThePieceThatHoldsTheInstant) {
    Travel travel{std::nullopt};
    travel.add(0, 0);
    travel.add(100'000, 20'000);
    travel.add(200'000, 50'000);
    EXPECT_EQ(travel.landing_um(50'000, 100'000), 10'000 + 20'000);
    EXPECT_EQ(travel.landing_um(150'000, 100'000), 35'000 + 30'000);
    EXPECT_EQ(travel.landing_um(100'000, 100'000),
              20'000 + 30'000); // at a reference: the piece that begins
}

TEST(Travel, KeepsTheLaterOfTwoReferencesForOneInstant) {
    Travel travel{std::nullopt};
    travel.add(0, 0);
    travel.add(100'000, 30'000);
    EXPECT_EQ(travel.landing_um(50'000, 0), 15'000);
    travel.add(100'000, 10'000);
    EXPECT_EQ(travel.landing_um(50'000, 0), 5'000);
    EXPECT_EQ(travel.newest_us(), 100'000);
}

TEST(Travel, ForgetsOnlyPiecesThatHaveEnded) {
    Travel travel{std::nullopt};
    for (int i = 0; i <= 10; ++i)
        travel.add(i * 100'000, i * i * 1'000);
    const auto before = travel.landing_um(650'000, 280'000);
    travel.forget_before(650'000);
    EXPECT_EQ(travel.landing_um(650'000, 280'000), before);
}

TEST(Travel, RoundsHalvesAwayFromZeroAndDoesNotOverflow) {
    EXPECT_EQ(multiply_divide(1, 1, 2), 1);
    EXPECT_EQ(multiply_divide(-1, 1, 2), -1);
    EXPECT_EQ(multiply_divide(1, 1, 3), 0);
    EXPECT_EQ(multiply_divide(4'000'000'000'000'000'000, 3, 4), 3'000'000'000'000'000'000);
}
