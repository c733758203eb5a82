// Constructed: 90, 100 and 110 seeds have mean 100 and sd 10.
#include "analysis/measures/transverse.hpp"

#include <gtest/gtest.h>

using namespace dropledger::measures;

TEST(Transverse, ComparesTotalsOfChannels) {
    const std::vector<ChannelTotal> totals{{0, 90}, {1, 100}, {4, 110}};
    const auto found = transverse(totals);
    ASSERT_TRUE(found);
    EXPECT_DOUBLE_EQ(found->mean_seeds, 100.0);
    EXPECT_DOUBLE_EQ(found->cv, 0.1);
    EXPECT_EQ(found->channels[2].channel, 4);
    EXPECT_NEAR(found->channels[2].deviation, 0.1, 1e-15);
}

TEST(Transverse, NeedsTwoChannelsAndSeeds) {
    EXPECT_FALSE(transverse(std::vector<ChannelTotal>{{0, 90}}));
    EXPECT_FALSE(transverse(std::vector<ChannelTotal>{{0, 0}, {1, 0}}));
}
