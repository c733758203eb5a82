// Constructed.
#include "analysis/ledger/registration.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger::ledger;

namespace {

constexpr std::int64_t spacing = 180'000;

std::int64_t offset_um(std::vector<std::int64_t> residuals, std::int64_t of_spacing_um) {
    return registration(std::move(residuals), of_spacing_um).offset_um;
}

std::int64_t around_circle(std::int64_t value) {
    value %= spacing;
    if (value < 0)
        value += spacing;
    return 2 * value > spacing ? value - spacing : value;
}

std::vector<std::int64_t> sample(std::int64_t offset, double scatter, std::size_t good,
                                 std::size_t junk, std::uint32_t seed) {
    std::mt19937 random{seed};
    std::normal_distribution<double> error(0.0, scatter);
    std::uniform_int_distribution<std::int64_t> anywhere(-spacing / 2, spacing / 2);
    std::vector<std::int64_t> all;
    for (std::size_t i = 0; i < good; ++i)
        all.push_back(around_circle(offset + std::llround(error(random))));
    for (std::size_t i = 0; i < junk; ++i)
        all.push_back(anywhere(random));
    return all;
}

} // namespace

TEST(Registration, IsZeroForNothing) {
    EXPECT_EQ(offset_um({}, spacing), 0);
}

TEST(Registration, IsTheMedian) {
    EXPECT_EQ(offset_um({1'000, 3'000, 8'000}, spacing), 3'000);
    EXPECT_EQ(offset_um({1'000, 3'000}, spacing), 2'000);
    EXPECT_EQ(offset_um({-1'000}, spacing), -1'000);
}

TEST(Registration, GoesAroundTheCircleOfOneSpacing) {
    // Landings near half a spacing late lie on both sides of the border between two drops.
    const std::int64_t found = offset_um({88'000, 89'000, -90'000 + 500, -89'000, 87'000}, spacing);
    EXPECT_EQ(found, 89'000);
    for (const std::int64_t offset : {-89'000, -60'000, -45'001, 0, 45'001, 60'000, 89'000})
        EXPECT_NEAR(static_cast<double>(around_circle(
                        offset_um(sample(offset, 6'000, 400, 0, 3), spacing) - offset)),
                    0.0, 1'500.0)
            << offset;
}

TEST(Registration, StandsFortyPerCentJunk) {
    for (std::uint32_t seed = 1; seed <= 40; ++seed)
        for (const std::int64_t offset : {-80'000, 0, 50'000})
            EXPECT_NEAR(static_cast<double>(around_circle(
                            offset_um(sample(offset, 5'000, 300, 200, seed), spacing) - offset)),
                        0.0, 4'000.0)
                << seed << ' ' << offset;
}

TEST(Registration, MovesWithItsResiduals) {
    auto residuals = sample(0, 5'000, 101, 0, 9);
    const std::int64_t before = offset_um(residuals, spacing);
    for (std::int64_t& residual : residuals)
        residual = around_circle(residual + 70'000);
    EXPECT_EQ(offset_um(residuals, spacing), before + 70'000);
    for (std::int64_t& residual : residuals)
        residual = around_circle(-residual);
    EXPECT_EQ(offset_um(residuals, spacing), -(before + 70'000));
}

TEST(Registration, TakesResidualsToTheNearestDropAndNoneBeyondTheEnds) {
    const std::vector<std::int64_t> drops{0, 180'000, 360'000};
    const std::vector<std::int64_t> landings{-90'001, -90'000, 90'000, 90'001, 400'000, 450'001};
    const auto residuals = residuals_um(landings, drops, spacing);
    EXPECT_EQ(residuals, (std::vector<std::int64_t>{-90'000, 90'000, -89'999, 40'000}));
}

TEST(Registration, IsIdentifiedWhereLandingsCrowd) {
    for (const std::int64_t offset : {-80'000, 0, 50'000}) {
        const Registration found = registration(sample(offset, 8'000, 200, 0, 1), spacing);
        EXPECT_EQ(found.identified, Identified::yes) << offset;
        EXPECT_NEAR(static_cast<double>(found.scatter_um), 8'000.0, 1'000.0);
        EXPECT_EQ(found.landings, 200U);
    }
    EXPECT_EQ(registration(sample(3'000, 2'000, 7, 0, 1), spacing).identified, Identified::yes);
    EXPECT_EQ(registration(sample(0, 5'000, 300, 120, 1), spacing).identified, Identified::yes);
}

TEST(Registration, IsNotIdentifiedByNothingOrByFew) {
    EXPECT_EQ(registration({}, spacing).identified, Identified::no_landings);
    EXPECT_EQ(registration({5'000}, 0).identified, Identified::no_landings);
    EXPECT_EQ(registration(sample(0, 2'000, 6, 0, 1), spacing).identified,
              Identified::few_landings);
}

TEST(Registration, IsNotIdentifiedWhereLandingsScatterByASixthOfTheSpacing) {
    for (std::uint32_t seed = 1; seed <= 40; ++seed) {
        EXPECT_EQ(registration(sample(0, spacing / 5.0, 500, 0, seed), spacing).identified,
                  Identified::scattered);
        EXPECT_EQ(registration(sample(0, spacing / 8.0, 500, 0, seed), spacing).identified,
                  Identified::yes);
    }
}

// Landings that lie anywhere pass for crowded hardly ever, few or many.
TEST(Registration, IsNotIdentifiedByLandingsAnywhere) {
    for (const std::size_t landings : {7U, 10U, 20U, 100U, 1'000U}) {
        int identified = 0;
        for (std::uint32_t seed = 1; seed <= 400; ++seed)
            identified += registration(sample(0, 1.0, 0, landings, seed), spacing).identified ==
                                  Identified::yes
                              ? 1
                              : 0;
        EXPECT_LE(identified, 2) << landings;
    }
}

TEST(Registration, IsNotIdentifiedInTheMiddleBetweenTwoDrops) {
    EXPECT_EQ(registration(sample(spacing / 2 - 300, 6'000, 200, 0, 2), spacing).identified,
              Identified::half_a_spacing);
    EXPECT_EQ(registration(sample(-spacing / 2 + 300, 6'000, 200, 0, 2), spacing).identified,
              Identified::half_a_spacing);
    EXPECT_EQ(registration(sample(spacing / 2 - 6'000, 6'000, 200, 0, 2), spacing).identified,
              Identified::yes);
}

TEST(Registration, HasAKeyAndWordsForEveryKind) {
    for (const Identified kind :
         {Identified::yes, Identified::no_landings, Identified::few_landings, Identified::scattered,
          Identified::half_a_spacing}) {
        EXPECT_FALSE(row_of(kind).key.empty());
        EXPECT_FALSE(row_of(kind).words.empty());
    }
}
