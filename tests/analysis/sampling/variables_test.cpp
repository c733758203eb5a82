#include "analysis/sampling/variables.hpp"

#include "analysis/sampling/variables_plan.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/moments.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

using namespace dropledger;
using namespace dropledger::batch;
using dropledger::statistics::TwoPoint;

namespace {

// Values that are as normal as n values can be, with this mean and sample standard deviation.
std::vector<double> normal_values(int n, double mean, double sd) {
    std::vector<double> values;
    double squares = 0.0;
    for (int i = 0; i < n; ++i) {
        values.push_back(statistics::normal_quantile((i + 0.5) / n));
        squares += values.back() * values.back();
    }
    const double scale = sd / std::sqrt(squares / (n - 1));
    for (double& value : values)
        value = mean + scale * value;
    return values;
}

// A long tail: exponential quantiles.
std::vector<double> skewed_values(int n) {
    std::vector<double> values;
    for (int i = 0; i < n; ++i)
        values.push_back(-std::log(1.0 - (i + 0.5) / n));
    return values;
}

} // namespace

// NIST e-Handbook 7.2.6.3: n 43, mean 97.07, s 0.0268, content 0.90, confidence 0.99: one-sided
// 97.120255 and 97.019745 with the approximate factor (seen); exact factor 1.873953606 and
// two-sided 2.222825174 recomputed.
TEST(Variables, ReproducesTheHandbooksIntervals) {
    const auto values = normal_values(43, 97.07, 0.0268);
    VariablesRequest request{.limits = {.lower = {}, .upper = 97.2},
                             .content = Share{0.90},
                             .confidence = Confidence{0.99}};
    const auto upper = judge_variables(values, request);
    ASSERT_TRUE(upper);
    EXPECT_EQ(upper->shape, Shape::normal);
    EXPECT_NEAR(*upper->interval->upper, 97.07 + 1.873953606 * 0.0268, 0.5e-8);
    EXPECT_NEAR(*upper->interval->upper, 97.120255, 1e-4); // the approximate one is near
    EXPECT_FALSE(upper->interval->lower);
    EXPECT_EQ(upper->outcome, VariablesOutcome::within);
    request.limits = {.lower = 96.9, .upper = 97.2};
    const auto both = judge_variables(values, request);
    EXPECT_NEAR(*both->interval->factor, 2.222825174, 0.5e-8);
    EXPECT_NEAR(*both->interval->lower, 97.010576, 5e-4);
    EXPECT_NEAR(*both->interval->upper, 97.129424, 5e-4);
}

// NIST e-Handbook 6.1.6 (memory, recomputed): limits 8 and 20, mean 16, s 2, n 50.
TEST(Variables, GivesCapabilityWithItsIntervalWhereValuesAreNormal) {
    const auto result =
        judge_variables(normal_values(50, 16.0, 2.0), {.limits = {.lower = 8.0, .upper = 20.0}});
    ASSERT_TRUE(result && result->capability);
    EXPECT_NEAR(result->capability->cp->value, 1.0, 1e-9);
    EXPECT_NEAR(result->capability->cpk.value, 0.6667, 0.5e-4);
    EXPECT_NEAR(result->capability->cpk.interval->low, 0.505576, 0.5e-4); // printed with z = 1.96
    EXPECT_NEAR(result->capability->cp->interval->high, 1.197126, 0.5e-6);
    EXPECT_EQ(result->outcome, VariablesOutcome::undecided);
}

TEST(Variables, FallsBackOnOrderedValuesWhereNormalityFails) {
    const auto values = skewed_values(100);
    const auto result = judge_variables(values, {.limits = {.lower = {}, .upper = 10.0}});
    ASSERT_TRUE(result);
    EXPECT_EQ(result->shape, Shape::not_normal);
    EXPECT_FALSE(result->capability);
    ASSERT_TRUE(result->interval);
    EXPECT_FALSE(result->interval->factor);
    EXPECT_EQ(*result->interval->upper, values[98]); // 100 values allow one to lie beyond
    EXPECT_EQ(result->outcome, VariablesOutcome::within);
    EXPECT_EQ(result->needed_without_distribution, 59);
}

TEST(Variables, SaysHowManyValuesItTakesWithoutADistribution) {
    const auto result =
        judge_variables(skewed_values(40), {.limits = {.lower = -1.0, .upper = 10.0}});
    ASSERT_TRUE(result);
    EXPECT_FALSE(result->interval);
    EXPECT_EQ(result->needed_without_distribution, 93);
    EXPECT_EQ(result->outcome, VariablesOutcome::undecided);
    EXPECT_NE(result->reason.find("it takes 93, there are 40"), std::string::npos);
}

TEST(Variables, IsOutsideWhereTheCountAloneShowsIt) {
    const auto result =
        judge_variables(normal_values(60, 10.0, 1.0), {.limits = {.lower = {}, .upper = 10.5}});
    EXPECT_EQ(result->beyond, 19); // of 60; P(Z > 0.5) = 0.309
    EXPECT_EQ(result->outcome, VariablesOutcome::outside);
}

TEST(Variables, SaysThatFewValuesWereNotTestedForNormality) {
    const auto few = judge_variables(std::vector<double>{9.9, 10.0, 10.1},
                                     {.limits = {.lower = {}, .upper = 20.0}});
    EXPECT_EQ(few->shape, Shape::assumed);
    EXPECT_TRUE(few->interval);
    const auto flat =
        judge_variables(std::vector<double>(5, 10.0), {.limits = {.lower = {}, .upper = 20.0}});
    ASSERT_TRUE(flat);
    EXPECT_FALSE(flat->interval); // no spread: five equal values prove little
    EXPECT_EQ(flat->outcome, VariablesOutcome::undecided);
}

TEST(Variables, RefusesWhatIsNoQuestion) {
    const std::vector<double> values{1.0, 2.0};
    EXPECT_FALSE(judge_variables(values, {}));
    EXPECT_FALSE(judge_variables(values, {.limits = {.lower = 2.0, .upper = 1.0}}));
    EXPECT_FALSE(
        judge_variables(values, {.limits = {.lower = 2.0, .upper = {}}, .content = Share{1.0}}));
    EXPECT_FALSE(
        judge_variables(std::vector<double>{1.0}, {.limits = {.lower = 2.0, .upper = {}}}));
}

// Textbook nomograph (Montgomery, Introduction to Statistical Quality Control; memory): 1 % with
// risk 0.05, 6 % with 0.10, spread unknown: n = 40, k = 1.9, both as read off a drawing.
TEST(VariablesPlan, IsTheTextbooksToTheDrawingsPrecision) {
    const auto plan = variables_plan({0.01, 0.06, 0.05, 0.10});
    ASSERT_TRUE(plan);
    EXPECT_NEAR(static_cast<double>(plan->n), 40.0, 2.0);
    EXPECT_NEAR(plan->k, 1.9, 0.05);
}

TEST(VariablesPlan, KeepsBothRisksAndOneUnitFewerCannot) {
    for (const TwoPoint& points :
         {TwoPoint{0.01, 0.06, 0.05, 0.10}, TwoPoint{0.01, 0.10, 0.05, 0.10},
          TwoPoint{0.05, 0.3, 0.1, 0.1}, TwoPoint{0.001, 0.5, 0.1, 0.1}}) {
        const auto plan = variables_plan(points);
        ASSERT_TRUE(plan);
        EXPECT_GE(accept_probability(*plan, points.good), 1.0 - points.alpha - 1e-9);
        EXPECT_LE(accept_probability(*plan, points.bad), points.beta + 1e-9);
        if (plan->n == 2)
            continue;
        // Any k that protects the consumer with one unit fewer turns away too many good lots.
        double low = -10.0;
        double high = 20.0;
        for (int i = 0; i < 60; ++i) {
            const double k = (low + high) / 2.0;
            (accept_probability({plan->n - 1, k}, points.bad) > points.beta ? low : high) = k;
        }
        EXPECT_LT(accept_probability({plan->n - 1, high}, points.good), 1.0 - points.alpha);
    }
    EXPECT_FALSE(variables_plan({0.01, 0.0101, 0.05, 0.10}));
    EXPECT_TRUE(variables_plan({0.010, 0.012, 0.05, 0.10})); // some thousands of values
}

// Simulated batches of normal values with a known share beyond the limit: acceptance follows the
// curve within four standard errors.
TEST(VariablesPlan, AcceptsAsOftenAsItSaysInSimulatedBatches) {
    const auto plan = variables_plan({0.01, 0.06, 0.05, 0.10});
    ASSERT_TRUE(plan);
    constexpr int batches = 4000;
    std::mt19937_64 random(20260101);
    std::normal_distribution<double> normal;
    for (const double share : {0.005, 0.01, 0.03, 0.06}) {
        const double limit = -statistics::normal_quantile(share);
        int accepted = 0;
        for (int i = 0; i < batches; ++i) {
            statistics::Moments values;
            for (std::int64_t unit = 0; unit < plan->n; ++unit)
                values.add(normal(random));
            accepted += *values.mean() + plan->k * *values.sample_sd() <= limit ? 1 : 0;
        }
        const double expected = accept_probability(*plan, share);
        EXPECT_NEAR(accepted / double{batches}, expected,
                    4.0 * std::sqrt(expected * (1.0 - expected) / batches))
            << share;
    }
}

// NIST 7.2.6.3 as in 13a: the same factors through the plan's door.
TEST(ToleranceFactors, NameExactAndApproximateOnes) {
    const auto factors = tolerance_factors({43, Share{0.90}, Confidence{0.99}});
    ASSERT_TRUE(factors);
    EXPECT_NEAR(factors->two_sided_howe, 2.217, 0.5e-3);
    EXPECT_NEAR(factors->one_sided_nist, 1.8752, 0.5e-4);
    EXPECT_FALSE(factors->ranks);
    EXPECT_FALSE(tolerance_factors({1, Share{0.90}, Confidence{0.99}}));
    EXPECT_FALSE(tolerance_factors({10, Share{1.0}, Confidence{0.99}}));
}
