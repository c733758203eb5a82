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
    // Recomputed.
    EXPECT_EQ(rejected(holm(published)), 3);
    expect_starts(holm(published),
                  {0.0015, 0.0056, 0.0247, 0.114, 0.2211, 0.278, 0.278, 0.278, 0.3213, 1.0});
}

// From memory, recomputed.
TEST(Multiplicity, KeepsTheOrderOfTheGivenValues) {
    const double given[] = {0.01, 0.04, 0.03, 0.005};
    const auto adjusted = holm(given);
    const double expected[] = {0.03, 0.06, 0.06, 0.02};
    for (std::size_t i = 0; i < 4; ++i)
        EXPECT_NEAR(adjusted[i], expected[i], 1e-15);
}

TEST(Multiplicity, NeverFallsBelowTheGivenValue) {
    const auto by_holm = holm(published);
    for (std::size_t i = 0; i < published.size(); ++i)
        EXPECT_GE(by_holm[i], published[i]);
    EXPECT_TRUE(holm({}).empty());
}
