// The rule in profile and log, the tests that end a run, and the coverage of what is reported
// after.
#include "analysis/verdict/stopped_share.hpp"
#include "analysis/verdict/stopping_rule.hpp"

#include "tests/analysis/verdict/stop_coverage.hpp"

#include <gtest/gtest.h>

#include <cmath>

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

// As older logs state it.
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
    EXPECT_EQ(remarks.front(), "sequential miss limit 0.05 confidence 0.95 first 50 every 10 "
                               "events 3 most 2000 least 250");
    const StatedRule stated = stated_rule(remarks);
    EXPECT_TRUE(stated.unreadable.empty());
    EXPECT_EQ(remarks_of(stated.rule), remarks);
}

TEST(StoppingRule, OfAnOlderLogIsStillRead) {
    const std::vector<std::string> remarks{
        "sequential miss 0.02 0.05 0.05 0.1 most 2000 least 250",
        "sequential multiples 0.01 0.04 0.05 0.1 most 2000 least 250"};
    const StatedRule stated = stated_rule(remarks);
    EXPECT_TRUE(stated.unreadable.empty());
    EXPECT_TRUE(std::holds_alternative<statistics::SequentialPlan>(*stated.rule.miss));
    EXPECT_EQ(remarks_of(stated.rule), remarks);
}

TEST(StoppingRule, GoesByTheProfilesOwnLimit) {
    Profile profile = profile_with(SequentialLevels{0.02, 0.05});
    profile.limits = {{measures::Quantity::miss_index, 0.04}};
    const auto rule = stopping_rule(profile, std::nullopt);
    EXPECT_EQ(std::get<statistics::LimitPlan>(*rule->miss).limit, 0.04);
    EXPECT_EQ(std::get<statistics::LimitPlan>(*rule->multiples).limit, 0.04); // its bad level
    profile.sequential->beta = 0.01;
    EXPECT_NEAR(std::get<statistics::LimitPlan>(*stopping_rule(profile, std::nullopt)->miss)
                    .confidence.level(),
                0.98, 1e-12);
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
        EXPECT_NE(refused.error().remedy.find("`drops`"), std::string::npos);
        EXPECT_NE(refused.error().where.find("trial"), std::string::npos);
    }
}

TEST(StoppingRule, LeavesOtherRemarksAloneAndNamesUnreadableOnes) {
    const StatedRule stated =
        stated_rule({"hopper refilled", "sequential miss 0.05 0.02 0.05 0.05 most 9",
                     "sequential miss 0.02 0.05 0.05 0.05 most 0",
                     "sequential miss limit 0.05 confidence 95 first 50 every 10 events 3 most 9",
                     "sequential miss limit 0.05 confidence 0.95 first 50 every 0 events 3 most 9",
                     "sequential miss limit 0.05", "sequential miss",
                     "sequential multiples 0.01 0.04 0.05 0.1 most 500"});
    EXPECT_EQ(stated.unreadable.size(), 6U);
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

// The drops that fall until the machine halts, and those for other channels, do not take back what
// the run said.
TEST(StoppedShare, StaysWhatTheRunSaidWhateverFellLater) {
    SequentialPath path{statistics::LimitPlan{.limit = 0.05, .least = 250}, 2000};
    for (int drop = 1; drop <= 400; ++drop)
        path.add(drop % 90 == 0 || drop > 390);
    EXPECT_EQ(path.decision(), Decision::accept);
    EXPECT_LT(path.decided_after(), 390);
    for (const bool ended : {false, true}) {
        const auto share = *stopped_share(path, ended, Confidence{0.95});
        EXPECT_LE(share.interval->high, 0.05);
        EXPECT_EQ(share.events, path.rows_then().events());
    }
}

TEST(StoppedShare, LetsARunWithoutAMissEndOnceRowsOfTenWouldHaveShown) {
    SequentialPath path{statistics::LimitPlan{.limit = 0.05, .least = 250}, 2000};
    while (path.decision() == Decision::go_on)
        path.add(false);
    EXPECT_EQ(path.decision(), Decision::accept);
    // A start a drop of 1/190 stays away from n drops with the chance 0.025: n = 699.1.
    EXPECT_EQ(path.decided_after(), 700);
    EXPECT_LE(stopped_share(path, true, Confidence{0.95})->interval->high, 0.05);
}

TEST(StoppedShare, DoesNotEndAsBadByOneRow) {
    SequentialPath path{statistics::LimitPlan{.limit = 0.05, .monitoring = {.most = 200}}, 200};
    for (int drop = 0; drop < 200; ++drop)
        path.add(drop >= 60 && drop < 105);
    EXPECT_EQ(path.decision(), Decision::undecided);
}

// A unit at the limit, called good in up to 55 % of the runs once.
TEST(StoppedShare, CallsAUnitAtTheLimitGoodAsRarelyAsStated) {
    constexpr int runs = 120;
    for (const double length : {1.0, 2.5, 5.0, 10.0}) {
        const auto seen = coverage::stop_coverage({.share = 0.05, .row_length = length}, runs, 7);
        EXPECT_LE(seen.good, 0.05 + 2.0 * std::sqrt(0.05 * 0.95 / runs)) << length;
        EXPECT_LE(seen.bad, 0.05 + 2.0 * std::sqrt(0.05 * 0.95 / runs)) << length;
        EXPECT_GE(seen.held, 0.93 - 2.0 * std::sqrt(0.93 * 0.07 / runs)) << length;
        EXPECT_EQ(seen.agreed, 1.0) << length;
    }
}

TEST(StoppedShare, LetsAHealthyUnitEndEarlyAndABadOneToo) {
    const auto healthy = coverage::stop_coverage({.share = 0.01}, 60, 8);
    EXPECT_GE(healthy.good, 0.98);
    EXPECT_GE(healthy.stopped_early, 0.75);
    EXPECT_EQ(healthy.agreed, 1.0);
    const auto bad = coverage::stop_coverage({.share = 0.1}, 60, 8);
    EXPECT_GE(bad.bad, 0.98);
    EXPECT_GE(bad.stopped_early, 0.75);
}

// 44 to 76 % once.
TEST(StoppedShare, CoversTheTruthAfterWaldsTestToo) {
    constexpr int runs = 150;
    for (const double length : {1.0, 5.0})
        for (const double share : {0.02, 0.05}) {
            const auto seen = coverage::wald_coverage({.points = {0.02, 0.08, 0.05, 0.05},
                                                       .most = 400,
                                                       .share = share,
                                                       .row_length = length},
                                                      runs, 7);
            EXPECT_GE(seen.reported, 0.93 - 2.0 * std::sqrt(0.93 * 0.07 / runs))
                << share << ' ' << length;
            EXPECT_GT(seen.own_end, 0.5);
        }
}

} // namespace dropledger::verdict
