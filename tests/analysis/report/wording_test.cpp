#include "analysis/report/words/wording.hpp"
#include "analysis/statistics/shares/more_needed.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <vector>

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
    EXPECT_EQ(more_drops_words(report, criterion, 2000),
              "about 2,000 more drops (24 minutes at this speed)");
    criterion.more_drops = 0;
    EXPECT_EQ(more_drops_words(report, criterion, 2000), "");
}

// 2026-11-26: of 24 drops it said that about 4,816 more would decide.
TEST(Wording, SaysHowManyMoreDropsOnlyAsWellAsTheDropsSoFarLetItBeKnown) {
    const audit::AuditReport report;
    const auto words = [&](std::int64_t more, std::int64_t counted) {
        verdict::Criterion criterion;
        criterion.more_drops = more;
        return more_drops_words(report, criterion, counted);
    };
    EXPECT_EQ(words(4816, 24), "");
    EXPECT_EQ(words(4816, 481), "");
    EXPECT_EQ(words(4816, 482), "some thousands of drops more");
    EXPECT_EQ(words(960, 500), "some thousands of drops more") << "nearer to 1,000 than to 900";
    EXPECT_EQ(words(840, 500), "some hundreds of drops more");
    EXPECT_EQ(words(60, 50), "some tens of drops more");
    EXPECT_EQ(words(310, 400), "about 300 more drops");
    EXPECT_EQ(words(17, 400), "about 20 more drops");
    EXPECT_EQ(words(7, 400), "about 7 more drops");
    verdict::Criterion criterion;
    criterion.more_drops = 4816;
    EXPECT_EQ(deciding_words(report, criterion, 24),
              "it may take far more drops than the 24 so far; how many can't be told yet");
    EXPECT_EQ(deciding_words(report, criterion, 5000),
              "about 5,000 more drops would decide it in nine of ten such runs");
}

TEST(Wording, SaysToTheDropHowManyTheProfileAsksFor) {
    audit::AuditReport report;
    report.profile.least_drops = 500;
    verdict::Criterion criterion;
    criterion.more_drops = 476;
    EXPECT_EQ(more_drops_words(report, criterion, 24), "476 more drops");
    EXPECT_EQ(deciding_words(report, criterion, 24), "the profile asks for 476 more drops");
}

TEST(Wording, IsCoarseBecauseChanceMovesSuchANumberFar) {
    constexpr double limit = 0.05;
    constexpr double share = 0.03;
    std::mt19937 chance(5);
    const auto scatter = [&](std::int64_t n) {
        std::binomial_distribution<std::int64_t> misses(n, share);
        std::vector<double> needed;
        for (int run = 0; run < 100; ++run)
            if (const auto more = statistics::more_needed({misses(chance), n, 1.0}, Share{limit},
                                                          Confidence{0.95}, 10'000'000))
                needed.push_back(static_cast<double>(*more));
        std::sort(needed.begin(), needed.end());
        return needed[needed.size() * 9 / 10] / std::max(1.0, needed[needed.size() / 10]);
    };
    EXPECT_GT(scatter(60), 10.0) << "after few drops not even the order is known";
}

TEST(Wording, GroupsThousands) {
    EXPECT_EQ(grouped(0), "0");
    EXPECT_EQ(grouped(999), "999");
    EXPECT_EQ(grouped(1000), "1,000");
    EXPECT_EQ(grouped(-1234567), "-1,234,567");
    EXPECT_EQ(grouped(999.96, 1), "1,000.0");
    EXPECT_EQ(grouped(-1234.5, 2), "-1,234.50");
    EXPECT_EQ(grouped(12.345, 0), "12");
}

} // namespace

} // namespace dropledger::report
