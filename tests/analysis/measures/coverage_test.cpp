// Nominal 95 % intervals must hold the truth in at least 93 % of runs (the goal of the coverage table in
// analysis/measures/README.md). Here few runs at a fixed seed, so two standard errors of slack.
#include "tests/analysis/measures/coverage.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger::measures::coverage;

namespace {

void expect_goal(const Study& how) {
    constexpr double goal = 0.93;
    const double slack = 2.0 * std::sqrt(goal * (1.0 - goal) / how.runs);
    for (const Scenario& scenario : scenarios())
        for (const auto& [name, covered] : study(scenario, how)) {
            EXPECT_EQ(covered.defined, covered.runs) << scenario.name << ' ' << name;
            EXPECT_GE(covered.share(), goal - slack)
                << scenario.name << ' ' << name << ", " << how.drops << " drops";
        }
}

} // namespace

TEST(Coverage, HoldsForShortRuns) { expect_goal({.drops = 250, .runs = 400, .seed = 7}); }
TEST(Coverage, HoldsForLongRuns) { expect_goal({.drops = 1000, .runs = 200, .seed = 7}); }
