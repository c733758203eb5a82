// Constructed: what a known efficiency of the gate does to the verdict and to the words beside it.
#include "analysis/report/sensor_correction.hpp"

#include "analysis/report/findings.hpp"
#include "analysis/statistics/proportion.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::report;
using verdict::Outcome;
using verdict::Sense;

namespace {

AuditReport complete_report(std::vector<verdict::Limit> limits) {
    AuditReport report;
    report.integrity.close_reason = "count";
    report.profile.least_drops = 100;
    report.profile.limits = std::move(limits);
    return report;
}

GateCalibration calibrated(std::int64_t seen, std::int64_t dropped) {
    GateCalibration calibration;
    calibration.id = "CAL-1";
    calibration.judges = true;
    calibration.efficiency = statistics::share_estimate(seen, dropped, 1.0, Confidence{0.95});
    return calibration;
}

ChannelReport singles(std::int64_t drops, std::int64_t misses) {
    ChannelReport channel;
    channel.gate = 1;
    channel.pulses = drops - misses;
    channel.table.drops = drops;
    channel.table.single = drops - misses;
    channel.table.miss = misses;
    channel.shares.miss = statistics::share_estimate(misses, drops, 1.0, Confidence{0.95});
    channel.shares.multiple = statistics::share_estimate(0, drops, 1.0, Confidence{0.95});
    channel.shares.single =
        statistics::share_estimate(drops - misses, drops, 1.0, Confidence{0.95});
    return channel;
}

// Portions of 3 that showed 0, 1, 2, 3 and 4 seeds.
ChannelReport portions(std::vector<std::int64_t> showed) {
    ChannelReport channel;
    channel.mode = ledger::Mode::portion;
    channel.pulses = 1;
    channel.table.empty = showed[0];
    channel.table.shorted = showed[1] + showed[2];
    channel.table.exact = showed[3];
    channel.table.over = showed[4];
    channel.table.drops =
        channel.table.empty + channel.table.shorted + channel.table.exact + channel.table.over;
    channel.portion.emplace();
    channel.portion->count_distribution = std::move(showed);
    const auto share = [&](std::int64_t x) {
        return statistics::share_estimate(x, channel.table.drops, 1.0, Confidence{0.95});
    };
    channel.portion->exact_share = share(channel.table.exact);
    channel.shares = {.empty = share(channel.table.empty),
                      .shorted = share(channel.table.shorted),
                      .exact = share(channel.table.exact),
                      .over = share(channel.table.over)};
    return channel;
}

ChannelReport line_of(double rate_error, double dispersion) {
    ChannelReport channel;
    channel.mode = ledger::Mode::line;
    channel.has_ledger = false;
    channel.pulses = 1;
    channel.line.emplace();
    channel.line->segment_um = 100'000;
    channel.line->segments = 1000;
    channel.line->seeds = 2400;
    const auto about = [](double value, double reach) {
        return statistics::Estimate{value, statistics::Interval{value - reach, value + reach},
                                    Confidence{0.95}, ""};
    };
    channel.line->mean_per_m = about(30.0 * (1.0 + rate_error), 0.3);
    channel.line->rate_error = about(rate_error, 0.01);
    channel.line->dispersion_index = about(dispersion, 0.05);
    channel.line->dispersion =
        statistics::Dispersion{.mean = 2.4, .variance = 2.4 * dispersion, .degrees = 999};
    return channel;
}

ChannelReport judged(const AuditReport& report, const GateCalibration& calibration,
                     ChannelReport channel) {
    correct_for_sensor(report, calibration, channel);
    judge_channel(report, channel);
    return channel;
}

const verdict::Limit few_misses{"miss_index", Sense::at_most, 0.05};

} // namespace

TEST(SensorVerdict, PutsOverlookedSeedsBackAndSaysWhatTheVerdictWouldBeWithout) {
    const AuditReport report = complete_report({few_misses});
    const ChannelReport channel =
        judged(report, calibrated(18'000, 20'000), singles(4000, 4000 - 3564)); // 0.9 of 99 %
    EXPECT_EQ(channel.judgement.outcome, Outcome::within);
    EXPECT_EQ(channel.sensor.outcome_as_seen, Outcome::outside);
    EXPECT_NEAR(channel.sensor.correction("miss_index")->corrected.estimate.value, 0.01, 1e-9);
    const auto sentences = sensor_sentences(channel);
    ASSERT_GE(sentences.size(), 2U);
    EXPECT_NE(sentences[0].find("about 1 of 10 seeds"), std::string::npos) << sentences[0];
    EXPECT_NE(sentences[1].find("blame the unit"), std::string::npos) << sentences[1];
    EXPECT_TRUE(sensor_sentences(singles(10, 0)).empty());
}

TEST(SensorVerdict, GoesByWhatWasSeenWhereTheCalibrationDoesNotJudge) {
    GateCalibration expired = calibrated(18'000, 20'000);
    expired.judges = false;
    const ChannelReport channel =
        judged(complete_report({few_misses}), expired, singles(4000, 436));
    EXPECT_EQ(channel.judgement.outcome, Outcome::outside);
    EXPECT_FALSE(channel.sensor.outcome_as_seen);
    EXPECT_NE(sensor_sentences(channel)[1].find("goes by what was seen"), std::string::npos);
}

TEST(SensorVerdict, SaysThatTheCalibrationAndNotTheRunIsTooShort) {
    const ChannelReport loose =
        judged(complete_report({few_misses}), calibrated(270, 300), singles(100'000, 13'000));
    EXPECT_EQ(loose.judgement.outcome, Outcome::undecided);
    EXPECT_EQ(loose.judgement.criteria[0].more_drops, 0);
    EXPECT_NE(
        loose.judgement.criteria[0].reason.find("calibrate it with at least 4 times as many seeds"),
        std::string::npos)
        << loose.judgement.criteria[0].reason;
    const ChannelReport brief =
        judged(complete_report({few_misses}), calibrated(180'000, 200'000), singles(200, 22));
    EXPECT_EQ(brief.judgement.outcome, Outcome::undecided);
    EXPECT_GT(brief.judgement.criteria[0].more_drops, 0);
}

TEST(SensorVerdict, AllowsForLinesMissingFromTheLog) {
    AuditReport report = complete_report({few_misses});
    const GateCalibration calibration = calibrated(18'000, 20'000);
    EXPECT_EQ(judged(report, calibration, singles(4000, 1200)).judgement.outcome, Outcome::outside);
    report.integrity.sequence_gaps = 1;
    report.integrity.missing_lines = 900;
    EXPECT_EQ(judged(report, calibration, singles(4000, 1200)).judgement.outcome,
              Outcome::undecided);
    report.integrity.missing_lines = 3;
    EXPECT_EQ(judged(report, calibration, singles(4000, 1200)).judgement.outcome, Outcome::outside);
}

TEST(SensorVerdict, JudgesPortionsAndAllowsForMissingLines) {
    AuditReport report = complete_report(
        {{"exact_share", Sense::at_least, 0.8}, {"empty_share", Sense::at_most, 0.02}});
    report.setup.count = 3;
    // all of 3 seeds, through a gate of 80 %: 0.8, 9.6, 38.4, 51.2 %
    const GateCalibration calibration = calibrated(16'000, 20'000);
    const ChannelReport full = judged(report, calibration, portions({40, 480, 1920, 2560, 0}));
    EXPECT_EQ(full.judgement.outcome, Outcome::within);
    EXPECT_EQ(full.sensor.outcome_as_seen, Outcome::outside);
    EXPECT_NEAR(full.sensor.correction("exact_share")->corrected.estimate.value, 1.0, 1e-9);
    // short by one in half of them: outside, unless lines are missing
    const std::vector<std::int64_t> half{120, 1040, 2560, 1280, 0};
    EXPECT_EQ(judged(report, calibration, portions(half)).judgement.outcome, Outcome::outside);
    report.integrity.sequence_gaps = 1;
    report.integrity.missing_lines = 2500;
    EXPECT_EQ(judged(report, calibration, portions(half)).judgement.criteria[0].outcome,
              Outcome::undecided);
    report.integrity.missing_lines = 5;
    EXPECT_EQ(judged(report, calibration, portions(half)).judgement.criteria[0].outcome,
              Outcome::outside);
}

TEST(SensorVerdict, DoesNotCorrectPortionsWhoseTargetsDiffer) {
    AuditReport report = complete_report({{"exact_share", Sense::at_least, 0.8}});
    report.setup.count = 3;
    ChannelReport channel = portions({40, 480, 1920, 2560, 0});
    ++channel.table.exact; // one of another target was exact too
    --channel.table.shorted;
    channel = judged(report, calibrated(16'000, 20'000), std::move(channel));
    EXPECT_EQ(channel.sensor.correction("exact_share"), nullptr);
    EXPECT_EQ(channel.judgement.outcome, Outcome::outside);
    EXPECT_NE(sensor_sentences(channel)[0].find("targets differ"), std::string::npos);
}

TEST(SensorVerdict, JudgesALineAndAllowsForMissingLines) {
    AuditReport report = complete_report({{"rate_error", Sense::magnitude_at_most, 0.05},
                                          {"dispersion_index", Sense::at_most, 0.9}});
    const GateCalibration calibration = calibrated(16'000, 20'000);
    const ChannelReport even = judged(report, calibration, line_of(-0.2, 0.6));
    EXPECT_EQ(even.judgement.outcome, Outcome::within);
    EXPECT_EQ(even.sensor.outcome_as_seen, Outcome::outside);
    EXPECT_EQ(judged(report, calibration, line_of(-0.3, 0.6)).judgement.criteria[0].outcome,
              Outcome::outside);
    report.integrity.sequence_gaps = 1;
    report.integrity.missing_lines = 300;
    EXPECT_EQ(judged(report, calibration, line_of(-0.3, 0.6)).judgement.criteria[0].outcome,
              Outcome::undecided);
}
