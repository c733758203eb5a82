// Evidence that contradicts itself, on hand-made counts.
#include "analysis/audit/contradictions.hpp"

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

TEST(Contradictions, SayWhenAllUnitsAreOffByOneAmount) {
    const AuditReport alike = units_off_by({-58.0, -57.0, -59.5});
    ASSERT_EQ(alike.contradictions.size(), 1U);
    EXPECT_EQ(alike.contradictions.front().kind, Contradiction::all_units_off);
    EXPECT_TRUE(units_off_by({-58.0, -57.0}).contradictions.empty());        // too few to tell
    EXPECT_TRUE(units_off_by({-58.0, 2.0, -59.0}).contradictions.empty());   // one is right
    EXPECT_TRUE(units_off_by({-58.0, -20.0, -40.0}).contradictions.empty()); // each its own
}
