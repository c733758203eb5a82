// Nominal 95 % intervals of placement, lines and portions must hold the truth in at least 93 % of
// runs, also where errors hang together; and on independent errors be at most 1.15 times as wide as
// the classical ones. Few runs at a fixed seed, so two standard errors of slack; the tables of
// analysis/measures/README.md have the finer look and what is left out here.
#include "tests/analysis/measures/lines_and_portions.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

using namespace dropledger::measures::coverage;

namespace {

void expect_held(const std::string& scenario, const std::map<std::string, Held>& found) {
    constexpr double goal = 0.93;
    for (const auto& [name, held] : found) {
        if (held.defined == 0)
            continue;
        const double slack = 2.0 * std::sqrt(goal * (1.0 - goal) / held.defined);
        EXPECT_GE(static_cast<double>(held.held) / held.defined, goal - slack)
            << scenario << ' ' << name;
    }
}

const Errors& errors_named(const std::string& name) {
    return *std::find_if(error_scenarios().begin(), error_scenarios().end(),
                         [&](const Errors& errors) { return errors.name == name; });
}

const CountScenario& counts_named(const std::string& name) {
    return *std::find_if(count_scenarios().begin(), count_scenarios().end(),
                         [&](const CountScenario& counts) { return counts.name == name; });
}

} // namespace

// 25 November: of a hundred drops whose errors correlate by 0.9 the offset's interval held the
// truth in 41 %, of portions whose seeds share the valve's error in 62 %.
TEST(Wandering, HoldsTheTruthWhereErrorsHangTogether) {
    for (const char* const name : {"correlation 0.6", "correlation 0.9", "portions of 4"})
        for (const std::int64_t drops : {100, 500})
            expect_held(
                name, study(errors_named(name),
                            {.drops = drops, .runs = 100, .seed = 5, .drops_for_truth = 100'000}));
}

TEST(Wandering, CostsLittleWhereTheyDoNot) {
    const auto found = study(errors_named("independent"),
                             {.drops = 100, .runs = 150, .seed = 6, .drops_for_truth = 100'000});
    expect_held("independent", found);
    for (const auto& [name, held] : found)
        EXPECT_LE(held.width / held.defined, 1.15) << name;
}

// 25 November: the dispersion of a regular line was held in 29 %.
TEST(Wandering, HoldsTheTruthOfLines) {
    for (const char* const name : {"regular line", "random line", "line in clusters"})
        expect_held(name, study(counts_named(name),
                                {.drops = 250, .runs = 100, .seed = 7, .drops_for_truth = 60'000}));
}

TEST(Wandering, HoldsTheMeanCountOfPortions) {
    expect_held("portions",
                study(counts_named("portions, 2 % empty"), {.drops = 100, .runs = 200, .seed = 8}));
}
