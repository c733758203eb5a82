#include "analysis/statistics/shares/proportion.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

constexpr double half_digit_4 = 0.5e-4;
constexpr double half_digit_6 = 0.5e-6;

struct Row {
    std::int64_t x, n;
    Interval wilson, clopper_pearson;
};

void expect_near(Interval seen, Interval printed, double tolerance, const char* what) {
    EXPECT_NEAR(seen.low, printed.low, tolerance) << what;
    EXPECT_NEAR(seen.high, printed.high, tolerance) << what;
}

const Confidence confidence{0.95};

} // namespace

// Newcombe 1998, Stat. Med. 17:857-872, Table I; seen in public copies, recomputed.
TEST(Proportion, ReproducesNewcombesTable) {
    const Row rows[] = {
        {81, 263, {0.2553, 0.3662}, {0.2527, 0.3676}},
        {15, 148, {0.0624, 0.1605}, {0.0578, 0.1617}},
        {0, 20, {0.0, 0.1611}, {0.0, 0.1684}},
        {1, 29, {0.0061, 0.1718}, {0.0009, 0.1776}},
        {490, 500, {0.9636, 0.9891}, {0.9635, 0.9904}}, // published elsewhere, seen
        {20, 20, {0.8389, 1.0}, {0.8316, 1.0}},         // published elsewhere, seen
    };
    for (const Row& row : rows) {
        expect_near(wilson(row.x, row.n, confidence), row.wilson, half_digit_4, "Wilson");
        expect_near(clopper_pearson(row.x, row.n, confidence), row.clopper_pearson, half_digit_4,
                    "Clopper-Pearson");
    }
    EXPECT_NEAR(wilson(29, 29, confidence).low, 0.8830, half_digit_4);
}

// Recomputed only (scipy), same rows.
TEST(Proportion, ReproducesRecomputedMidPAndJeffreys) {
    expect_near(mid_p(81, 263, confidence), {0.2544, 0.3658}, half_digit_4, "mid-P");
    expect_near(mid_p(0, 20, confidence), {0.0, 0.1391}, half_digit_4, "mid-P");
    expect_near(mid_p(1, 29, confidence), {0.0017, 0.1585}, half_digit_4, "mid-P");
    expect_near(jeffreys(15, 148, confidence), {0.0604, 0.1576}, half_digit_4, "Jeffreys");
    expect_near(jeffreys(0, 20, confidence), {0.0, 0.1166}, half_digit_4, "Jeffreys");
    expect_near(jeffreys(1, 29, confidence), {0.0037, 0.1501}, half_digit_4, "Jeffreys");
    EXPECT_EQ(jeffreys(20, 20, confidence).high, 1.0);
}

// Recomputed, six decimals.
TEST(Proportion, ReproducesSixDecimals) {
    const Row rows[] = {
        {0, 10, {0.0, 0.277533}, {0.0, 0.308497}},
        {1, 10, {0.017876, 0.404150}, {0.002529, 0.445016}},
        {5, 10, {0.236593, 0.763407}, {0.187086, 0.812914}},
        {3, 250, {0.004089, 0.034681}, {0.002482, 0.034667}},
        {0, 250, {0.0, 0.015133}, {0.0, 0.014647}},
        {15, 112, {0.082871, 0.209265}, {0.076939, 0.211258}},
    };
    for (const Row& row : rows) {
        expect_near(wilson(row.x, row.n, confidence), row.wilson, half_digit_6, "Wilson");
        expect_near(clopper_pearson(row.x, row.n, confidence), row.clopper_pearson, half_digit_6,
                    "Clopper-Pearson");
    }
}

TEST(Proportion, LeavesExactlyTheTailsOutside) {
    const Interval found = clopper_pearson(7, 90, confidence);
    EXPECT_NEAR(binomial_sf(6, {90, found.low}), 0.025, 1e-12);
    EXPECT_NEAR(binomial_cdf(7, {90, found.high}), 0.025, 1e-12);
}

TEST(Proportion, CoversAtLeastTheStatedShareWhateverTheTruth) {
    constexpr std::int64_t n = 60;
    for (int percent = 1; percent < 100; percent += 3) {
        const double truth = percent / 100.0;
        double covered = 0.0;
        for (std::int64_t x = 0; x <= n; ++x) {
            const Interval found = clopper_pearson(x, n, confidence);
            if (found.low <= truth && truth <= found.high)
                covered += binomial_pmf(x, {n, truth});
        }
        EXPECT_GE(covered, 0.95) << truth;
    }
}

TEST(Proportion, MirrorsWhenHitsAndMissesSwap) {
    for (std::int64_t x = 0; x <= 12; ++x)
        for (const auto interval : {clopper_pearson, wilson, jeffreys, mid_p}) {
            const Interval here = interval(x, 12, confidence);
            const Interval there = interval(12 - x, 12, confidence);
            EXPECT_NEAR(here.low, 1.0 - there.high, 1e-12);
            EXPECT_NEAR(here.high, 1.0 - there.low, 1e-12);
        }
}

TEST(Proportion, NeverNarrowsWhenInflated) {
    for (const std::int64_t x : {0, 1, 7, 50, 99, 100})
        for (const double inflation : {0.2, 1.0, 1.01, 1.5, 4.0, 80.0}) {
            const Interval plain = clopper_pearson(x, 100, confidence);
            const Interval wide = clopper_pearson_inflated(x, 100, inflation, confidence);
            EXPECT_LE(wide.low, plain.low);
            EXPECT_GE(wide.high, plain.high);
        }
    // 40 of 1000 at inflation 4 is worth 10 of 250.
    const Interval inflated = clopper_pearson_inflated(40, 1000, 4.0, confidence);
    expect_near(inflated, clopper_pearson(10, 250, confidence), 1e-12, "effective counts");
}

TEST(Proportion, KnowsNothingFromNothing) {
    EXPECT_EQ(clopper_pearson(0, 0, confidence).low, 0.0);
    EXPECT_EQ(clopper_pearson(0, 0, confidence).high, 1.0);
    EXPECT_EQ(wilson(0, 0, confidence).high, 1.0);
    EXPECT_FALSE(share_estimate(0, 0, 1.0, confidence));
    EXPECT_THROW(static_cast<void>(clopper_pearson(3, 2, confidence)), BrokenInvariant);
    EXPECT_EQ(share_estimate(1, 4, 1.0, confidence)->method, "Clopper-Pearson");
    EXPECT_NE(share_estimate(1, 4, 1.7, confidence)->method.find("1.70"), std::string::npos);
}
