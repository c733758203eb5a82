#include "analysis/statistics/basics/multiplicity.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace dropledger::statistics;

namespace {

// Benjamini & Hochberg 1995, the example of 15 p-values; seen in public copies.
const std::vector<double> published{0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344,
                                    0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000};

void expect_starts(const std::vector<double>& seen, const std::vector<double>& expected) {
    for (std::size_t i = 0; i < expected.size(); ++i)
        EXPECT_NEAR(seen[i], expected[i], 0.5e-8) << i;
}

long rejected(const std::vector<double>& adjusted) {
    return std::count_if(adjusted.begin(), adjusted.end(), [](double p) { return p <= 0.05; });
}

} // namespace

TEST(Multiplicity, ReproducesThePublishedExample) {
    // Four rejected at 0.05: published. Adjusted values: recomputed.
    EXPECT_EQ(rejected(benjamini_hochberg(published)), 4);
    EXPECT_EQ(rejected(holm(published)), 3);
    EXPECT_EQ(rejected(hochberg(published)), 3);
    expect_starts(benjamini_hochberg(published),
                  {0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.06385714, 0.06385714, 0.0645, 0.0765,
                   0.486, 0.58118182, 0.714875, 0.75323077, 0.81321429, 1.0});
    expect_starts(holm(published),
                  {0.0015, 0.0056, 0.0247, 0.114, 0.2211, 0.278, 0.278, 0.278, 0.3213, 1.0});
    expect_starts(hochberg(published),
                  {0.0015, 0.0056, 0.0247, 0.114, 0.2211, 0.2682, 0.2682, 0.2752, 0.3213});
}

// From memory, recomputed.
TEST(Multiplicity, KeepsTheOrderOfTheGivenValues) {
    const double given[] = {0.01, 0.04, 0.03, 0.005};
    const auto adjusted = holm(given);
    const double expected[] = {0.03, 0.06, 0.06, 0.02};
    for (std::size_t i = 0; i < 4; ++i)
        EXPECT_NEAR(adjusted[i], expected[i], 1e-15);
}

TEST(Multiplicity, NeverFallsBelowTheGivenValueNorAboveHolm) {
    const auto by_holm = holm(published);
    const auto by_hochberg = hochberg(published);
    const auto by_rate = benjamini_hochberg(published);
    for (std::size_t i = 0; i < published.size(); ++i) {
        EXPECT_GE(by_rate[i], published[i]);
        EXPECT_LE(by_rate[i], by_hochberg[i]);
        EXPECT_LE(by_hochberg[i], by_holm[i]);
    }
    EXPECT_TRUE(holm({}).empty());
}
