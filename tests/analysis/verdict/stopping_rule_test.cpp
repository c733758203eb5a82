// The rule in profile and log, the tests that end a run, and the coverage of what is reported
// after.
#include "analysis/verdict/stopped_share.hpp"
#include "analysis/verdict/stopping_rule.hpp"

#include "tests/analysis/verdict/stop_coverage.hpp"

#include <gtest/gtest.h>

namespace dropledger::verdict {
namespace {

using measures::SequentialPath;
using statistics::Decision;

Profile profile_with(std::optional<SequentialLevels> miss) {
    Profile profile;
    profile.name = "trial";
    profile.least_drops = 250;
    profile.sequential = Sequential{miss, SequentialLevels{0.01, 0.04}, 0.05, 0.10, 2000};
    return profile;
}

SequentialPath path_of(int drops, int every) {
    SequentialPath path{*statistics::sequential_plan({0.02, 0.05, 0.05, 0.05}), 2000};
    for (int k = 1; k <= drops; ++k)
        path.add(every > 0 && k % every == 0);
    return path;
}

} // namespace

TEST(StoppingRule, IsReadBackAsItWasWritten) {
    const auto rule = stopping_rule(profile_with(SequentialLevels{0.02, 0.05}), std::nullopt);
    const auto remarks = remarks_of(*rule);
    EXPECT_EQ(remarks.front(), "sequential miss 0.02 0.05 0.05 0.1 most 2000 least 250");
    const StatedRule stated = stated_rule(remarks);
    EXPECT_TRUE(stated.unreadable.empty());
    EXPECT_EQ(remarks_of(stated.rule), remarks);
}

TEST(StoppingRule, TakesTheSmallerMaximum) {
    const Profile profile = profile_with(SequentialLevels{0.02, 0.05});
    EXPECT_EQ(stopping_rule(profile, 300)->most, 300);
    EXPECT_EQ(stopping_rule(profile, 9000)->most, 2000);
    EXPECT_EQ(stopping_rule(profile, 100)->least, 100);
}

TEST(StoppingRule, TestsOnlyWhatHasLevels) {
    const auto rule = stopping_rule(profile_with(std::nullopt), std::nullopt);
    EXPECT_FALSE(rule->miss);
    EXPECT_EQ(remarks_of(*rule).size(), 1U);
}

TEST(StoppingRule, IsRefusedWhereTheProfileStatesNoLevelsOrSowsALine) {
    Profile none = profile_with(std::nullopt);
    none.sequential.reset();
    Profile line = profile_with(SequentialLevels{0.02, 0.05});
    line.mode = ledger::Mode::line;
    for (const Profile& profile : {none, line}) {
        const auto refused = stopping_rule(profile, std::nullopt);
        ASSERT_FALSE(refused);
        EXPECT_NE(refused.error().remedy.find("--drops"), std::string::npos);
        EXPECT_NE(refused.error().where.find("trial"), std::string::npos);
    }
}

TEST(StoppingRule, LeavesOtherRemarksAloneAndNamesUnreadableOnes) {
    const StatedRule stated =
        stated_rule({"hopper refilled", "sequential miss 0.05 0.02 0.05 0.05 most 9",
                     "sequential miss 0.02 0.05 0.05 0.05 most 0",
                     "sequential multiples 0.01 0.04 0.05 0.1 most 500"});
    EXPECT_EQ(stated.unreadable.size(), 2U);
    EXPECT_FALSE(stated.rule.miss);
    EXPECT_EQ(stated.rule.most, 500);
}

// Constructed; 95 drops without a hit are what Wald's line at good 2 %, bad 5 %, risks 5 % asks for
// (recomputed).
TEST(StoppedShare, KnowsWhichTestEndedTheRun) {
    const SequentialPath good = path_of(300, 0);
    const SequentialPath bad = path_of(300, 5);
    const SequentialPath open = path_of(50, 0);
    EXPECT_EQ(good.decided_after(), 95);
    EXPECT_EQ(bad.decision(), Decision::reject);
    EXPECT_EQ(ended_the_run({&good, &bad}, 250), (std::vector<bool>{true, false}));
    EXPECT_EQ(ended_the_run({&good, &good}, 250),
              (std::vector<bool>{false, false})); // the least did
    EXPECT_EQ(ended_the_run({&good, &good}, 50), (std::vector<bool>{true, true}));
    EXPECT_EQ(ended_the_run({&bad, &open}, 0), (std::vector<bool>{false, false})); // broken off
}

TEST(StoppedShare, TakesDropsUpToTheDecisionWhereThatEndedTheRun) {
    const SequentialPath bad = path_of(300, 5);
    const auto at_stop = *stopped_share(bad, true, Confidence{0.95});
    const auto all = *stopped_share(bad, false, Confidence{0.95});
    EXPECT_DOUBLE_EQ(at_stop.value, static_cast<double>(bad.hits_then()) /
                                        static_cast<double>(bad.decided_after()));
    EXPECT_DOUBLE_EQ(all.value, 0.2);
    EXPECT_NE(at_stop.method, all.method);
}

TEST(StoppedShare, CoversTheTruthAsOftenAsStated) {
    constexpr int runs = 1500; // standard error 0.6 %
    for (const double miss : {0.005, 0.02, 0.05, 0.08}) {
        const auto covered = coverage::stop_coverage(
            {.points = {0.02, 0.08, 0.05, 0.05}, .most = 400, .least = 60, .miss = miss}, runs, 7);
        EXPECT_GE(covered.reported, 0.93) << miss;
        EXPECT_GT(covered.own_end, 0.0);
    }
}

} // namespace dropledger::verdict
