// Evidence that contradicts itself, on hand-made counts.
#include "analysis/audit/doubt/contradictions.hpp"
#include "analysis/audit/doubt/doubted_causes.hpp"

#include "analysis/audit/judge.hpp"
#include "analysis/causes/cause.hpp"
#include "analysis/report/words/sentences.hpp"
#include "tests/analysis/audit/sample.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

using namespace dropledger;
using namespace dropledger::audit;

namespace {

constexpr Confidence ninety_five{0.95};

// Of 1,000 drops, the first `seen` were seen.
SeenDrops first_of_thousand(int seen) {
    SeenDrops drops(1000, false);
    std::fill(drops.begin(), drops.begin() + seen, true);
    return drops;
}

GateComparison compared(int judging, int other) {
    const SeenDrops a = first_of_thousand(judging);
    const SeenDrops b = first_of_thousand(other);
    return *compared_gates({.gate = 1, .seeds = judging, .drops = &a},
                           {.gate = 0, .seeds = other, .drops = &b}, ledger::Mode::single,
                           ninety_five);
}

AuditReport units_off_by(const std::vector<double>& offsets_mm) {
    AuditReport report;
    report.profile.limits = {{measures::Quantity::offset_mm, 10.0}};
    for (const double offset_mm : offsets_mm) {
        ChannelReport channel;
        channel.drops()->placement.emplace();
        channel.drops()->placement->offset_mm =
            statistics::Estimate{offset_mm, std::nullopt, ninety_five, "constructed"};
        report.channels.push_back(std::move(channel));
    }
    find_contradictions(report);
    return report;
}

} // namespace

TEST(Contradictions, SuspectTheJudgingGateThatSawFarLessThanTheOther) {
    EXPECT_TRUE(compared(603, 971).judge_suspect);
    EXPECT_FALSE(compared(971, 603).judge_suspect); // the other one is the weak one
    EXPECT_FALSE(compared(980, 985).judge_suspect); // within what is allowed
}

// Two agree by chance more easily than three: they must be nearer to each other.
TEST(Contradictions, AskTwoUnitsToAgreeMoreCloselyThanThree) {
    EXPECT_EQ(units_off_by({-58.0, -57.0}).contradictions.size(), 1U);
    EXPECT_TRUE(units_off_by({-58.0, -50.0}).contradictions.empty());
    EXPECT_EQ(units_off_by({-58.0, -50.0, -54.0}).contradictions.size(), 1U);
    EXPECT_TRUE(units_off_by({-58.0}).contradictions.empty());
    EXPECT_TRUE(units_off_by({-8.0, -8.1}).contradictions.empty()); // inside the limit
}

// One of them may have been set by hand; of three units two are no majority to build on.
TEST(Contradictions, TakeAllButOneUnitOffAlikeForWhatTheyShare) {
    const AuditReport report = units_off_by({-0.5, 12.0, 12.4, 11.8});
    ASSERT_EQ(report.contradictions.size(), 1U);
    EXPECT_EQ(report.contradictions.front().what.rfind("3 of 4 units are off", 0), 0U);
    EXPECT_TRUE(units_off_by({-0.5, 12.0, 12.4}).contradictions.empty());
    EXPECT_TRUE(units_off_by({-0.5, 0.2, 12.4, 11.8}).contradictions.empty());
    EXPECT_TRUE(units_off_by({-12.0, 12.0, -12.4, 11.8}).contradictions.empty());
}

// Nothing says that it is the valves: the report must not send a mechanic to each of them.
TEST(DoubtedCauses, AreWithdrawnWhereAContradictionLeavesThemOpen) {
    AuditReport report = units_off_by({12.0, 12.4, 11.8});
    ChannelReport& channel = report.channels.front();
    for (const auto kind : {causes::CauseKind::valve_lag, causes::CauseKind::bad_cell})
        channel.causes.emplace_back().kind = kind;
    withdraw_doubted_causes(report, channel);
    ASSERT_EQ(channel.causes.size(), 1U);
    EXPECT_EQ(channel.causes.front().kind, causes::CauseKind::bad_cell);
}

TEST(Contradictions, NameAGateThatSawSeedAndHasNoPlace) {
    const AuditReport report = sample::report_of({.drops = 300, .places = false});
    ASSERT_EQ(report.contradictions.size(), 1U);
    const Contradicted& found = report.contradictions.front();
    EXPECT_EQ(key_of(found.kind), "gate_without_place");
    EXPECT_EQ(found.channel, 0);
    EXPECT_NE(found.remedy.find("gate1_place"), std::string::npos);
    for (const verdict::Criterion& criterion : report.channels.front().judgement.criteria)
        if (is_placement(criterion.limit.quantity))
            EXPECT_EQ(criterion.outcome, verdict::Outcome::undecided);
        else
            EXPECT_EQ(criterion.reason.find("where it sits"),
                      std::string::npos); // counted all the same
    EXPECT_EQ(report::verdict_sentence(report).rfind("Gate 1 of unit U-10 saw", 0), 0U);
    EXPECT_TRUE(sample::report_of({.drops = 300}).contradictions.empty());
    // A line knows nothing but distances.
    EXPECT_TRUE(sample::report_of({.mode = ledger::Mode::line, .drops = 300, .places = false})
                    .contradictions.empty());
}

TEST(Contradictions, HoldBackARunWhoseTravelJumps) {
    for (const bool set_anew : {false, true}) {
        AuditReport report;
        report.profile.limits = {{measures::Quantity::miss_index, 0.05}};
        (set_anew ? report.travelled.set_anew : report.travelled.jumps) = 1;
        report.travelled.jumps_at = {17};
        ChannelReport below;
        verdict::Criterion& criterion = below.judgement.criteria.emplace_back();
        criterion.limit = report.profile.limits.front();
        criterion.outcome = verdict::Outcome::within;
        ChannelReport above = below; // it counts by time: travel is of no account
        above.gate_only_counts = true;
        find_contradictions(report);
        hold_back(report, below);
        hold_back(report, above);
        ASSERT_EQ(report.contradictions.size(), 1U);
        EXPECT_EQ(key_of(report.contradictions.front().kind), "travel_jumps");
        EXPECT_EQ(below.judgement.criteria.front().outcome, verdict::Outcome::undecided);
        EXPECT_EQ(above.judgement.criteria.front().outcome, verdict::Outcome::within);
    }
}

TEST(Contradictions, SayWhenAllUnitsAreOffByOneAmount) {
    const AuditReport alike = units_off_by({-58.0, -57.0, -59.5});
    ASSERT_EQ(alike.contradictions.size(), 1U);
    EXPECT_EQ(alike.contradictions.front().kind, Contradiction::all_units_off);
    EXPECT_TRUE(units_off_by({-58.0, 2.0, -59.0}).contradictions.empty());   // one is right
    EXPECT_TRUE(units_off_by({-58.0, -20.0, -40.0}).contradictions.empty()); // each its own
}
