// The tests of a run that goes on: when it may end, and what its log says then.
#include "analysis/verdict/stopping_tests.hpp"

#include <gtest/gtest.h>

namespace dropledger::verdict {
namespace {

using statistics::Decision;

// Wald's test for miss and multiples alike, as older logs state it.
StoppingRule rule_with(std::int64_t most, std::int64_t least) {
    StoppingRule rule;
    rule.miss = *statistics::sequential_plan({0.02, 0.10, 0.05, 0.10});
    rule.multiples = *statistics::sequential_plan({0.02, 0.10, 0.05, 0.10});
    rule.most = most;
    rule.least = least;
    return rule;
}

void add_good(StoppingTests& tests, int channel, int drops) {
    for (int i = 0; i < drops; ++i)
        tests.add(channel, false, false);
}

} // namespace

TEST(StoppingTests, EndARunOnceEveryChannelIsGoodAndHasItsLeastDrops) {
    StoppingTests tests(rule_with(2000, 150), 0b101U);
    add_good(tests, 0, 150);
    EXPECT_FALSE(tests.decided()); // channel 2 has had nothing yet
    add_good(tests, 2, 149);
    EXPECT_FALSE(tests.decided()); // good, but one drop short of the least
    add_good(tests, 2, 1);
    EXPECT_TRUE(tests.decided());
    const auto all = tests.decisions();
    ASSERT_EQ(all.size(), 4U);
    EXPECT_EQ(all.front().channel, 0);
    EXPECT_EQ(all.back().channel, 2);
    for (const StopDecision& one : all)
        EXPECT_EQ(one.decision, Decision::accept);
}

TEST(StoppingTests, EndABadRunWithoutWaitingForTheLeastDrops) {
    StoppingTests tests(rule_with(2000, 1000), 1U);
    for (int i = 0; i < 60; ++i)
        tests.add(0, true, false); // misses only: the multiples are good
    EXPECT_TRUE(tests.decided());
    const auto all = tests.decisions();
    EXPECT_EQ(all[0].decision, Decision::reject);
    EXPECT_EQ(all[0].criterion, StopCriterion::miss);
    EXPECT_EQ(all[1].decision, Decision::accept);
}

TEST(StoppingTests, DoNotEndARunThatItsMaximumLeftUndecided) {
    StoppingTests tests(rule_with(5, 0), 1U);
    add_good(tests, 0, 5);
    EXPECT_FALSE(tests.decided());
    EXPECT_FALSE(tests.decisions().front().is_final());
}

TEST(StoppingTests, PassOverChannelsThatTakeNoPart) {
    StoppingTests tests(rule_with(2000, 0), 1U);
    add_good(tests, 1, 500);
    ASSERT_EQ(tests.decisions().size(), 2U);
    EXPECT_EQ(tests.decisions().front().drops, 0);
}

TEST(StoppingTests, AreRemarkedInTheLogChannelByChannel) {
    const std::vector<StopDecision> decisions{{.channel = 3,
                                               .criterion = StopCriterion::multiples,
                                               .decision = Decision::reject,
                                               .drops = 40,
                                               .hits = 6}};
    EXPECT_EQ(remarks_of(decisions),
              std::vector<std::string>{"decision channel 3 multiples bad after 40 drops with 6"});
    EXPECT_TRUE(remarks_of(std::vector<StopDecision>{}).empty());
}

} // namespace dropledger::verdict
