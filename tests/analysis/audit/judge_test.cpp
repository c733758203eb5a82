// Constructed: what a verdict may and may not say of incomplete runs and of what the indices do not
// show.
#include "analysis/audit/judge.hpp"

#include "analysis/measures/spacing.hpp"
#include "tests/analysis/audit/sample.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::audit;
using Q = measures::Quantity;
using verdict::Outcome;

namespace {

audit::AuditReport complete_report(verdict::Limit limit) {
    audit::AuditReport report;
    report.integrity.close_reason = "count";
    report.profile.least_drops = 100;
    report.profile.limits = {std::move(limit)};
    return report;
}

// `landed` drops in place out of `drops`. The spacing index sees no miss; in the ledger they come
// in rows of `row`, or all at the end.
audit::ChannelReport emptied_after(std::int64_t landed, std::int64_t drops, std::int64_t row = 0) {
    audit::ChannelReport channel;
    measures::EntryTally entries{ledger::Mode::single};
    std::int64_t kept = 0;
    std::int64_t missed = 0;
    while (kept + missed < drops) {
        const bool pause = row > 0 && missed < drops - landed && (kept + missed) / row % 2 == 1;
        ledger::Entry entry;
        entry.seeds = kept < landed && !pause ? 1 : 0;
        entry.seeds > 0 ? ++kept : ++missed;
        entries.add(entry);
    }
    SingleDrops single;
    single.drops.table = entries.table();
    single.shares = entries.single_shares(Confidence{0.95});
    measures::SpacingTally tally{180'000};
    for (std::int64_t i = 1; i < landed; ++i)
        tally.add(180'000);
    single.spacing = tally.result(Confidence{0.95});
    channel.results = std::move(single);
    channel.pulses = landed;
    return channel;
}

audit::ChannelReport line_channel(double seeds_a_segment, std::int64_t rate_per_m_milli) {
    audit::ChannelReport channel;
    channel.pulses = 1;
    measures::LineTally line{100'000};
    const auto seeds = static_cast<std::int64_t>(400 * seeds_a_segment);
    for (std::int64_t i = 0; i < seeds; ++i)
        line.add(i * 40'000'000 / seeds, 1);
    channel.results = line.result(rate_per_m_milli, Confidence{0.95});
    return channel;
}

Outcome judged(const audit::AuditReport& report, audit::ChannelReport channel) {
    judge_channel(report, channel);
    return channel.judgement.outcome;
}

} // namespace

TEST(Findings, DoNotPassAHopperThatRanEmpty) {
    const audit::AuditReport report = complete_report({Q::miss_index, 0.05});
    audit::ChannelReport channel = emptied_after(300, 600);
    EXPECT_EQ(channel.spacing()->iso.misses->value,
              0.0); // the index sees no miss after the last landing
    judge_channel(report, channel);
    // It ran empty once: that is one event, no share of misses that the unit has.
    EXPECT_EQ(channel.judgement.outcome, Outcome::undecided);
    EXPECT_NE(channel.judgement.criteria[0].reason.find("300 of 600 commanded drops"),
              std::string::npos);
    audit::ChannelReport often = emptied_after(300, 600, 10);
    judge_channel(report, often);
    EXPECT_EQ(often.judgement.outcome, Outcome::outside);
    EXPECT_NE(often.judgement.criteria[0].reason.find("300 of 600"), std::string::npos);
    EXPECT_EQ(judged(report, emptied_after(600, 600)), Outcome::within);
}

TEST(Findings, CannotTellAnEmptyUnitFromADeadGate) {
    EXPECT_EQ(judged(complete_report({Q::miss_index, 0.05}), emptied_after(0, 600)),
              Outcome::undecided);
}

TEST(Findings, AllowForLinesMissingFromTheLog) {
    audit::AuditReport report = complete_report({Q::miss_index, 0.05});
    report.integrity.sequence_gaps = 1;
    report.integrity.missing_lines = 300;
    EXPECT_EQ(judged(report, emptied_after(300, 600, 10)), Outcome::undecided);
    report.integrity.missing_lines = 3;
    EXPECT_EQ(judged(report, emptied_after(300, 600, 10)), Outcome::outside);
    EXPECT_EQ(judged(report, emptied_after(600, 600)),
              Outcome::undecided); // incomplete: never within
}

TEST(Findings, AllowForABlockedGate) {
    audit::AuditReport report = complete_report({Q::miss_index, 0.05});
    report.faults.push_back({.channel = 0, .code = "gate_blocked"});
    EXPECT_EQ(judged(report, emptied_after(300, 600, 10)), Outcome::undecided);
    report.faults.front().channel = -1; // the controller does not say whose gate
    EXPECT_EQ(judged(report, emptied_after(300, 600, 10)), Outcome::undecided);
    report.faults.front().channel = 1;
    EXPECT_EQ(judged(report, emptied_after(300, 600, 10)), Outcome::outside);
}

TEST(Findings, AllowForSeedsMissingFromALine) {
    audit::AuditReport report = complete_report({Q::rate_error, 0.05});
    EXPECT_EQ(judged(report, line_channel(5.0, 50'000)), Outcome::within);
    EXPECT_EQ(judged(report, line_channel(4.5, 50'000)), Outcome::outside);
    EXPECT_EQ(judged(report, line_channel(5.5, 50'000)), Outcome::outside);
    report.integrity.lost = 200; // a tenth of the seeds
    EXPECT_EQ(judged(report, line_channel(4.5, 50'000)), Outcome::undecided);
    EXPECT_EQ(judged(report, line_channel(5.5, 50'000)),
              Outcome::outside); // more seeds do not mend too many
}

TEST(Findings, JudgeNoPlaceByAListOfSpacings) {
    audit::AuditReport report = complete_report({Q::offset_mm, 10.0});
    report.from_spacings = true;
    audit::ChannelReport channel;
    channel.results = *emptied_after(300, 0).spacing();
    judge_channel(report, channel);
    EXPECT_TRUE(channel.judgement.criteria.empty());
    EXPECT_FALSE(channel.notes.empty());
}

// A profile may limit whatever is good or bad: none of these limits may stay without an answer.
TEST(Findings, AnswerALimitOnEveryQuantityThatCanBeLimited) {
    for (const auto mode : {ledger::Mode::single, ledger::Mode::portion, ledger::Mode::line}) {
        audit::AuditReport report = sample::report_of({.mode = mode, .drops = 600});
        report.profile.limits.clear();
        for (const Q quantity : measures::limited_quantities(mode))
            report.profile.limits.push_back({quantity, 0.5});
        audit::ChannelReport& channel = report.channels.front();
        judge_channel(report, channel);
        ASSERT_EQ(channel.judgement.criteria.size(), report.profile.limits.size());
        for (const verdict::Criterion& criterion : channel.judgement.criteria) {
            ASSERT_TRUE(criterion.estimate) << key_of(criterion.limit.quantity);
            EXPECT_TRUE(criterion.estimate->interval) << key_of(criterion.limit.quantity);
        }
    }
}

TEST(Findings, JudgeTheLedgersShareByItself) {
    const audit::AuditReport report = complete_report({Q::miss_share, 0.05});
    EXPECT_EQ(judged(report, emptied_after(300, 600, 20)), Outcome::outside);
    EXPECT_EQ(judged(report, emptied_after(1000, 1000)), Outcome::within);
    const audit::AuditReport per_spacing = complete_report({Q::misses, 0.05});
    EXPECT_EQ(judged(per_spacing, emptied_after(1000, 1000)), Outcome::within);
}

// What a gate overlooks can be put back into drops, not into spacings.
TEST(Findings, LeaveSpacingsUndecidedUnderAGateThatOverlooksSeeds) {
    const audit::AuditReport report = complete_report({Q::misses, 0.05});
    audit::ChannelReport channel = emptied_after(1000, 1000);
    channel.sensor.judges_corrected = true;
    judge_channel(report, channel);
    EXPECT_EQ(channel.judgement.outcome, Outcome::undecided);
    EXPECT_NE(channel.judgement.criteria.front().reason.find("overlooks"), std::string::npos);
}

// One gate alone, and it saw nothing: a dead gate and an empty unit look the same.
TEST(Findings, DoNotCondemnAUnitByAGateThatSawNothing) {
    audit::ChannelReport channel = emptied_after(0, 600);
    std::get<SingleDrops>(channel.results).spacing.reset();
    channel.gate_only_counts = true;
    for (const Q quantity : {Q::miss_index, Q::miss_share}) {
        const audit::AuditReport report = complete_report({quantity, 0.05});
        audit::ChannelReport judged_channel = channel;
        judge_channel(report, judged_channel);
        EXPECT_EQ(judged_channel.judgement.outcome, Outcome::undecided);
        EXPECT_NE(judged_channel.judgement.criteria.front().reason.find("saw nothing at all"),
                  std::string::npos);
    }
}
