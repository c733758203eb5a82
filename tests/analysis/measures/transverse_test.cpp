#include "analysis/measures/transverse.hpp"

#include <gtest/gtest.h>

namespace dropledger::measures {
namespace {

ChannelRate rate(int channel, double per_m, double half) {
    const Confidence confidence{0.95};
    return {channel, 100,
            statistics::Estimate{per_m, statistics::Interval{per_m - half, per_m + half},
                                 confidence, ""}};
}

} // namespace

// Constructed: 9, 10, 11 have mean 10 and standard deviation 1.
TEST(Transverse, GivesTheVariationOfTheTotalsAndEachDeviation) {
    const auto result = transverse({rate(0, 9, 0.3), rate(1, 10, 0.3), rate(4, 11, 0.3)},
                                   Confidence{0.95});
    ASSERT_TRUE(result);
    EXPECT_DOUBLE_EQ(result->cv.value, 0.1);
    EXPECT_FALSE(result->cv.interval); // these channels and no others
    EXPECT_EQ(result->channels[2].channel, 4);
    EXPECT_NEAR(result->channels[2].deviation.value, 0.1, 1e-12);
    // 0.3/10 · √((2/3)² + 2/9) = 0.03 · √(2/3)
    EXPECT_NEAR(result->channels[0].deviation.interval->low, -0.1 - 0.0244949, 1e-6);
}

TEST(Transverse, IsNotDefinedForOneChannelOrWithoutSeedsOrRates) {
    EXPECT_FALSE(transverse({rate(0, 9, 0.3)}, Confidence{0.95}));
    EXPECT_FALSE(transverse({rate(0, 0, 0), rate(1, 0, 0)}, Confidence{0.95}));
    EXPECT_FALSE(transverse({rate(0, 9, 0.3), {1, 0, std::nullopt}}, Confidence{0.95}));
}

} // namespace dropledger::measures
