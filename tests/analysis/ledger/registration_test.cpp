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
