// Constructed: what a known efficiency of the gate does to the verdict and to the words beside it.
#include "analysis/audit/correct.hpp"

#include "analysis/audit/judge.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include "analysis/report/words/sensor_sentences.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::audit;
using Q = measures::Quantity;
using verdict::Outcome;

namespace {

audit::AuditReport complete_report(std::vector<verdict::Limit> limits) {
    audit::AuditReport report;
    report.integrity.close_reason = "count";
    report.profile.least_drops = 100;
    report.profile.limits = std::move(limits);
    return report;
}

audit::GateCalibration calibrated(std::int64_t seen, std::int64_t dropped) {
    audit::GateCalibration calibration;
    calibration.id = "CAL-1";
    calibration.judges = true;
    calibration.efficiency = statistics::share_estimate(seen, dropped, 1.0, Confidence{0.95});
    return calibration;
}

audit::ChannelReport singles(std::int64_t drops, std::int64_t misses) {
    audit::ChannelReport channel;
    channel.gate = 1;
    channel.pulses = drops - misses;
    SingleDrops single;
    single.drops.table.drops = drops;
    single.drops.table.single = drops - misses;
    single.drops.table.miss = misses;
    const auto share = [&](std::int64_t x) {
        return statistics::share_estimate(x, drops, 1.0, Confidence{0.95});
    };
    single.shares = {.miss = share(misses), .single = share(drops - misses), .multiple = share(0)};
    channel.results = std::move(single);
    return channel;
}

// Portions of 3 that showed 0, 1, 2, 3 and 4 seeds.
audit::ChannelReport portions(std::vector<std::int64_t> showed) {
    audit::ChannelReport channel;
    channel.pulses = 1;
    Portions portions;
    measures::LedgerTable& table = portions.drops.table;
    table.empty = showed[0];
    table.shorted = showed[1] + showed[2];
    table.exact = showed[3];
    table.over = showed[4];
    table.drops = table.empty + table.shorted + table.exact + table.over;
    portions.portion.emplace();
    portions.portion->count_distribution = std::move(showed);
    const auto share = [&](std::int64_t x) {
        return statistics::share_estimate(x, table.drops, 1.0, Confidence{0.95});
    };
    portions.portion->exact_share = share(table.exact);
    portions.shares = {.empty = share(table.empty),
                       .shorted = share(table.shorted),
                       .exact = share(table.exact),
                       .over = share(table.over)};
    channel.results = std::move(portions);
    return channel;
}

audit::ChannelReport line_of(double rate_error, double dispersion) {
    audit::ChannelReport channel;
    channel.pulses = 1;
    measures::LineResult line;
    line.segment_um = 100'000;
    line.segments = 1000;
    line.seeds = 2400;
    const auto about = [](double value, double reach) {
        return statistics::Estimate{value, statistics::Interval{value - reach, value + reach},
                                    Confidence{0.95}, ""};
    };
    line.mean_per_m = about(30.0 * (1.0 + rate_error), 0.3);
    line.rate_error = about(rate_error, 0.01);
    line.dispersion_index = about(dispersion, 0.05);
    line.dispersion =
        statistics::Dispersion{.mean = 2.4, .variance = 2.4 * dispersion, .degrees = 999};
    channel.results = std::move(line);
    return channel;
}

audit::ChannelReport judged(const audit::AuditReport& report,
                            const audit::GateCalibration& calibration,
                            audit::ChannelReport channel) {
    correct_for_sensor(report, calibration, channel);
    judge_channel(report, channel);
    return channel;
}

const verdict::Limit few_misses{Q::miss_index, 0.05};

} // namespace

TEST(SensorVerdict, PutsOverlookedSeedsBackAndSaysWhatTheVerdictWouldBeWithout) {
    const audit::AuditReport report = complete_report({few_misses});
    const audit::ChannelReport channel =
        judged(report, calibrated(18'000, 20'000), singles(4000, 4000 - 3564)); // 0.9 of 99 %
    EXPECT_EQ(channel.judgement.outcome, Outcome::within);
    EXPECT_EQ(channel.sensor.outcome_as_seen, Outcome::outside);
    EXPECT_NEAR(channel.sensor.correction(Q::miss_index)->corrected.estimate.value, 0.01, 1e-9);
    const auto sentences = report::sensor_sentences(channel);
    ASSERT_GE(sentences.size(), 2U);
    EXPECT_NE(sentences[0].find("about 1 of 10 seeds"), std::string::npos) << sentences[0];
    EXPECT_NE(sentences[1].find("blame the unit"), std::string::npos) << sentences[1];
    EXPECT_TRUE(report::sensor_sentences(singles(10, 0)).empty());
}

TEST(SensorVerdict, GoesByWhatWasSeenWhereTheCalibrationDoesNotJudge) {
    audit::GateCalibration expired = calibrated(18'000, 20'000);
    expired.judges = false;
    const audit::ChannelReport channel =
        judged(complete_report({few_misses}), expired, singles(4000, 436));
    EXPECT_EQ(channel.judgement.outcome, Outcome::outside);
    EXPECT_FALSE(channel.sensor.outcome_as_seen);
    EXPECT_NE(report::sensor_sentences(channel)[1].find("goes by what was seen"),
              std::string::npos);
}

TEST(SensorVerdict, SaysThatTheCalibrationAndNotTheRunIsTooShort) {
    const audit::ChannelReport loose =
        judged(complete_report({few_misses}), calibrated(270, 300), singles(100'000, 13'000));
    EXPECT_EQ(loose.judgement.outcome, Outcome::undecided);
    EXPECT_EQ(loose.judgement.criteria[0].more_drops, 0);
    EXPECT_NE(
        loose.judgement.criteria[0].reason.find("calibrate it with at least 4 times as many seeds"),
        std::string::npos)
        << loose.judgement.criteria[0].reason;
    const audit::ChannelReport brief =
        judged(complete_report({few_misses}), calibrated(180'000, 200'000), singles(200, 22));
    EXPECT_EQ(brief.judgement.outcome, Outcome::undecided);
    EXPECT_GT(brief.judgement.criteria[0].more_drops, 0);
}

TEST(SensorVerdict, AllowsForLinesMissingFromTheLog) {
    audit::AuditReport report = complete_report({few_misses});
    const audit::GateCalibration calibration = calibrated(18'000, 20'000);
    EXPECT_EQ(judged(report, calibration, singles(4000, 1200)).judgement.outcome, Outcome::outside);
    report.integrity.sequence_gaps = 1;
    report.integrity.missing_lines = 900;
    EXPECT_EQ(judged(report, calibration, singles(4000, 1200)).judgement.outcome,
              Outcome::undecided);
    report.integrity.missing_lines = 3;
    EXPECT_EQ(judged(report, calibration, singles(4000, 1200)).judgement.outcome, Outcome::outside);
}

TEST(SensorVerdict, JudgesPortionsAndAllowsForMissingLines) {
    audit::AuditReport report = complete_report({{Q::exact_share, 0.8}, {Q::empty_share, 0.02}});
    report.setup.count = 3;
    // all of 3 seeds, through a gate of 80 %: 0.8, 9.6, 38.4, 51.2 %
    const audit::GateCalibration calibration = calibrated(16'000, 20'000);
    const audit::ChannelReport full =
        judged(report, calibration, portions({40, 480, 1920, 2560, 0}));
    EXPECT_EQ(full.judgement.outcome, Outcome::within);
    EXPECT_EQ(full.sensor.outcome_as_seen, Outcome::outside);
    EXPECT_NEAR(full.sensor.correction(Q::exact_share)->corrected.estimate.value, 1.0, 1e-9);
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
    audit::AuditReport report = complete_report({{Q::exact_share, 0.8}});
    report.setup.count = 3;
    audit::ChannelReport channel = portions({40, 480, 1920, 2560, 0});
    ++channel.drops()->table.exact; // one of another target was exact too
    --channel.drops()->table.shorted;
    channel = judged(report, calibrated(16'000, 20'000), std::move(channel));
    EXPECT_EQ(channel.sensor.correction(Q::exact_share), nullptr);
    EXPECT_EQ(channel.judgement.outcome, Outcome::outside);
    EXPECT_NE(report::sensor_sentences(channel)[0].find("targets differ"), std::string::npos);
}

TEST(SensorVerdict, JudgesALineAndAllowsForMissingLines) {
    audit::AuditReport report =
        complete_report({{Q::rate_error, 0.05}, {Q::dispersion_index, 0.9}});
    const audit::GateCalibration calibration = calibrated(16'000, 20'000);
    const audit::ChannelReport even = judged(report, calibration, line_of(-0.2, 0.6));
    EXPECT_EQ(even.judgement.outcome, Outcome::within);
    EXPECT_EQ(even.sensor.outcome_as_seen, Outcome::outside);
    EXPECT_EQ(judged(report, calibration, line_of(-0.3, 0.6)).judgement.criteria[0].outcome,
              Outcome::outside);
    report.integrity.sequence_gaps = 1;
    report.integrity.missing_lines = 300;
    EXPECT_EQ(judged(report, calibration, line_of(-0.3, 0.6)).judgement.criteria[0].outcome,
              Outcome::undecided);
}
