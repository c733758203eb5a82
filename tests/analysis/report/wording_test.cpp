#include "analysis/report/words/wording.hpp"

#include <gtest/gtest.h>

namespace dropledger::report {

namespace {

statistics::Estimate estimate(double value, double low, double high) {
    return {value, statistics::Interval{low, high}, Confidence{0.95}, "by hand"};
}

TEST(Wording, GivesTwoDigitsOfHalfTheInterval) {
    EXPECT_EQ(value_words(estimate(0.0421, 0.031, 0.056), Unit::percent), "4.2 %");
    EXPECT_EQ(interval_words(estimate(0.0421, 0.031, 0.056), Unit::percent), "3.1 to 5.6 %");
    EXPECT_EQ(value_words(estimate(12.3456, 12.34, 12.351), Unit::millimetres), "12.3456 mm");
    EXPECT_EQ(value_words(estimate(180.4, 160.0, 200.0), Unit::millimetres), "180 mm");
}

TEST(Wording, NeverPrintsAMinusBeforeZero) {
    EXPECT_EQ(number(-0.0004, Unit::millimetres, 1), "0.0");
    EXPECT_EQ(number(-0.06, Unit::millimetres, 1), "-0.1");
}

TEST(Wording, AddsDigitsUntilTheIntervalCanBeToldFromTheLimit) {
    verdict::Criterion criterion;
    criterion.limit = {measures::Quantity::miss_index, 0.05};
    criterion.estimate = estimate(0.0421, 0.031, 0.0504);
    EXPECT_EQ(found_words(criterion), "4.21 %, 95 % interval 3.10 to 5.04 %");
}

TEST(Wording, SaysLimitsInTheUnitOfDisplay) {
    EXPECT_EQ(limit_words({measures::Quantity::miss_index, 0.05}), "at most 5 %");
    EXPECT_EQ(limit_words({measures::Quantity::quality_of_feed_index, 0.9}), "at least 90 %");
    EXPECT_EQ(limit_words({measures::Quantity::offset_mm, 7.5}), "between -7.5 mm and +7.5 mm");
}

TEST(Wording, CountsMoreDropsInMinutesAtTheSpeedOfTheRun) {
    audit::AuditReport report;
    report.setup.spacing_um = 180'000;
    report.travelled = {90'000'000, 360'000'000}; // 0.25 m/s
    verdict::Criterion criterion;
    criterion.more_drops = 2000; // issue text: 2,000 drops at 180 mm and 0.25 m/s take 24 minutes
    EXPECT_EQ(more_drops_words(report, criterion),
              "about 2,000 more drops (24 minutes at this speed)");
    criterion.more_drops = 0;
    EXPECT_EQ(more_drops_words(report, criterion), "");
}

TEST(Wording, GroupsThousands) {
    EXPECT_EQ(grouped(0), "0");
    EXPECT_EQ(grouped(999), "999");
    EXPECT_EQ(grouped(1000), "1,000");
    EXPECT_EQ(grouped(-1234567), "-1,234,567");
}

} // namespace

} // namespace dropledger::report
