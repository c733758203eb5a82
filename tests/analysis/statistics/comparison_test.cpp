#include "analysis/statistics/comparison.hpp"

#include "analysis/statistics/multiplicity.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::statistics;

// Fisher 1935, the lady tasting tea: 3 of 4 right, two-sided 34/70; from memory, exact by hand.
TEST(Comparison, ReproducesTheTeaTasting) {
    EXPECT_NEAR(*fisher_exact_p({3, 4}, {1, 4}), 34.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({4, 4}, {0, 4}), 2.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({0, 10}, {0, 99}), 1.0, 1e-12);
    EXPECT_FALSE(fisher_exact_p({0, 0}, {3, 9}));
}

// Constructed by hand: variances 2.5 and 10 of 5 each: t = -3/sqrt(2.5), df 2.5²/(0.25/4 + 4/4).
TEST(Comparison, WelchUsesBothSpreads) {
    const double a[] = {1, 2, 3, 4, 5};
    const double b[] = {2, 4, 6, 8, 10};
    const auto test = welch_test(moments(a), moments(b));
    EXPECT_NEAR(test->t, -3.0 / std::sqrt(2.5), 1e-12);
    EXPECT_NEAR(test->degrees, 6.25 / 1.0625, 1e-12);
    const double flat[] = {1, 1};
    EXPECT_FALSE(welch_test(moments(flat), moments(flat)));
    EXPECT_FALSE(welch_test(moments({}), moments(b)));
}

TEST(Comparison, FindsTheOneUnlikeItsSiblings) {
    const Group groups[] = {{10, 500}, {12, 500}, {45, 500}, {9, 500}};
    const auto p = each_against_rest(groups, 1.0);
    EXPECT_LT(*p[2], 1e-6);
    EXPECT_GT(*p[0], 1e-3);
    // Strong clustering leaves less evidence.
    EXPECT_GT(*each_against_rest(groups, 10.0)[2], *p[2]);
    const Moments means[] = {Moments::of_summary(50, 1.0, 1.0), Moments::of_summary(50, 1.1, 1.0),
                             Moments::of_summary(50, 3.0, 1.0)};
    EXPECT_LT(*each_against_rest(means)[2], 1e-6);
    EXPECT_FALSE(each_against_rest(std::span<const Group>{groups, 1}, 1.0)[0]);
}

// 1500 machines of 8 like units: the share with any unit flagged stays within the family-wise rate.
TEST(Comparison, HoldsTheFamilyWiseErrorOfLikeSiblings) {
    std::mt19937_64 random{20240501};
    std::binomial_distribution<std::int64_t> misses{250, 0.04};
    int flagged = 0;
    constexpr int machines = 1500;
    for (int machine = 0; machine < machines; ++machine) {
        std::vector<Group> groups;
        for (int unit = 0; unit < 8; ++unit)
            groups.push_back({misses(random), 250});
        std::vector<double> p_values;
        for (const auto& p : each_against_rest(groups, 1.0))
            p_values.push_back(*p);
        const auto adjusted = holm(p_values);
        flagged += *std::min_element(adjusted.begin(), adjusted.end()) <= 0.05 ? 1 : 0;
    }
    EXPECT_LE(flagged, machines * 0.05 + 3.0 * std::sqrt(machines * 0.05 * 0.95));
    EXPECT_GT(flagged, 0);
}
