// Nominal 95 % intervals must hold the truth in at least 93 % of runs (the goal of the coverage
// table in analysis/measures/README.md). Here few runs at a fixed seed, so two standard errors of
// slack.
#include "tests/analysis/measures/coverage.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

using namespace dropledger::measures::coverage;

namespace {

// Of the shares and of all spacings: share_coverage_test.cpp.
bool is_of_places(const std::string& quantity) {
    return quantity == "precision" || quantity == "within_allowance" ||
           quantity.rfind("_mm") != std::string::npos;
}

void expect_goal(const Study& how) {
    constexpr double goal = 0.93;
    const double slack = 2.0 * std::sqrt(goal * (1.0 - goal) / how.runs);
    for (const Scenario& scenario : scenarios())
        for (const auto& [name, covered] : study(scenario, how)) {
            if (!is_of_places(name) || name.rfind("spacing.", 0) == 0)
                continue;
            EXPECT_EQ(covered.defined, covered.runs) << scenario.name << ' ' << name;
            EXPECT_GE(covered.share(), goal - slack)
                << scenario.name << ' ' << name << ", " << how.drops << " drops";
        }
}

} // namespace

TEST(Coverage, HoldsForShortRuns) {
    expect_goal({.drops = 250, .runs = 300, .seed = 7, .drops_for_truth = 200'000});
}
TEST(Coverage, HoldsForLongRuns) {
    expect_goal({.drops = 1000, .runs = 100, .seed = 7, .drops_for_truth = 200'000});
}
