#include "calibration/efficiency.hpp"

#include "calibration/gate_matching.hpp"

#include "bench/virtual/run_log.hpp"
#include "tests/bench/virtual/a_scenario.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger;
using namespace dropledger::calibration;
using statistics::TwoObservers;

namespace {

constexpr Confidence usual{0.95};

struct SimulatedLog {
    std::string bytes;
    std::int64_t seeds = 0;
};

SimulatedLog log_of(const bench_virtual::Scenario& scenario) {
    SimulatedLog out;
    bench_virtual::LogSinks sinks;
    sinks.line = [&](std::string_view line) { out.bytes.append(line); };
    sinks.truth = [&](const bench_virtual::RunTruth& truth) { out.seeds += truth.truth.seeds; };
    bench_virtual::simulate_log(scenario, sinks);
    return out;
}

} // namespace

// Seen in public copies of Seber 2002, tables 3.7 and 3.8, and of Krebs 1989, box 2.1; recomputed.
TEST(Efficiency, ReproducesPublishedTwoObserverEstimates) {
    EXPECT_NEAR(two_gates({.both = 7, .first = 500, .second = 149}, usual)->seeds.value, 9392.75, 0.005);
    EXPECT_NEAR(two_gates({.both = 7, .first = 500, .second = 149}, usual)->standard_error, 3022.184, 0.0005);
    EXPECT_NEAR(two_gates({.both = 167, .first = 948, .second = 421}, usual)->seeds.value, 2382.798, 0.0005);
}

TEST(Efficiency, RefusesCountsThatCannotBe) {
    const TwoObservers impossible[] = {{5, 4, 9}, {5, 9, 4}, {-1, 3, 3}, {0, -1, 3}, {0, 0, 0}};
    for (const TwoObservers& seen : impossible) {
        const auto result = two_gates(seen, usual);
        ASSERT_FALSE(result) << seen.both << ' ' << seen.first << ' ' << seen.second;
        EXPECT_EQ(exit_status(result.error().kind), 64);
    }
    EXPECT_FALSE(efficiency_of(HandCount{100, 101}, usual));
    EXPECT_FALSE(efficiency_of(HandCount{0, 0}, usual));
    EXPECT_FALSE(efficiency_of(Weighing{0.0, 0.1, 15.0, 0.1, 10}, usual));
}

// Constructed: at odds 1 it is Chapman's estimate, and more dependence never means more efficient gates.
TEST(Efficiency, BoundsWhatDependenceCouldDo) {
    const TwoObservers seen{900, 950, 940};
    const auto rows = dependence(seen, {1.0, 2.0, 10.0});
    ASSERT_EQ(rows.size(), 3U);
    EXPECT_NEAR(rows[0].seeds, two_gates(seen, usual)->seeds.value, 1e-9);
    EXPECT_LT(rows[0].seeds, rows[1].seeds);
    EXPECT_GT(rows[1].first_efficiency, rows[2].first_efficiency);
    // the 2 × 2 table of the last row has the stated odds ratio, with the pairs counted one up as Chapman does
    const double neither = rows[2].seeds - 990.0;
    EXPECT_NEAR((900.0 + 1.0) * neither / (50.0 * 40.0), 10.0, 1e-9);
}

// Constructed: 30 g of a seed of 15 g a thousand are 2000; u by hand, sqrt((0.03/30)² + (0.06/15)²).
TEST(Efficiency, WeighsWithBothUncertainties) {
    const auto result = efficiency_of(Weighing{30.0, 0.03, 15.0, 0.06, 1980}, usual);
    EXPECT_NEAR(result->seeds.value, 2000.0, 1e-9);
    EXPECT_NEAR(result->seeds_u, 2000.0 * 0.0041231, 1e-3);
    EXPECT_NEAR(result->efficiency.value, 0.99, 1e-12);
    const double counting = 0.99 * 0.01 / 2000.0;
    const double weighing = 0.99 * 0.0041231;
    EXPECT_NEAR(result->efficiency_u, std::sqrt(counting + weighing * weighing), 1e-7);
    EXPECT_LE(result->efficiency.interval->high, 1.0);
}

TEST(Efficiency, SaysWhetherTheWaysAgree) {
    const auto hand = efficiency_of(HandCount{1000, 950}, usual);
    const auto same = efficiency_of(Weighing{15.0, 0.01, 15.0, 0.10, 955}, usual);
    const auto other = efficiency_of(HandCount{1000, 990}, usual);
    const auto pairs = compare({{"Hand count", *hand}, {"Weighing", same->efficiency}, {"Two gates", *other}});
    ASSERT_EQ(pairs.size(), 3U);
    EXPECT_TRUE(pairs[0].agree);
    EXPECT_FALSE(pairs[1].agree);
    EXPECT_NE(pairs[1].words.find("do not agree"), std::string::npos);
    EXPECT_LT(pairs[1].interval.high, 0.0);
}

// The virtual bench overlooks 3 % at the gate over the valve and 5 % at the gate under it.
TEST(Efficiency, FindsWhatTheVirtualGatesOverlook) {
    using namespace bench_virtual;
    Scenario scenario = scenario_of(with(single_toml, "doubles = 0.05", "doubles = 0.0"));
    scenario.drops = 1500;
    const SimulatedLog log = log_of(scenario);
    const auto pulses = pulses_of(open_string(log.bytes), "test", std::nullopt);
    ASSERT_TRUE(pulses) << pulses.error().message();
    EXPECT_TRUE(pulses->first_waits);
    const auto matching = match(*pulses);
    ASSERT_TRUE(matching);
    const auto result = two_gates(matching->seen, Confidence{0.999});
    EXPECT_LE(result->first_efficiency->interval->low, 0.97);
    EXPECT_GE(result->first_efficiency->interval->high, 0.97);
    EXPECT_LE(result->second_efficiency->interval->low, 0.95);
    EXPECT_GE(result->second_efficiency->interval->high, 0.95);
    EXPECT_LE(result->seeds.interval->low, static_cast<double>(log.seeds));
    EXPECT_GE(result->seeds.interval->high, static_cast<double>(log.seeds));
}

// Both gates under the valve, one without its flight time in the settings: the crowd of differences is found unaided.
TEST(Efficiency, FindsTheFlightBetweenTheGatesUnaided) {
    ChannelPulses pulses;
    GateTimes boot;
    for (std::int64_t k = 0; k < 400; ++k) {
        const std::int64_t at = k * 700'000 + (k * k * 7919) % 90'000;
        const std::int64_t scatter = (k * 104'729) % 1601 - 800;
        if (k % 10 != 3)
            boot.first_us.push_back(at);
        if (k % 20 != 7)
            boot.second_us.push_back(at + 123'000 + scatter);
    }
    pulses.boots = {boot};
    const auto matching = match(pulses);
    ASSERT_TRUE(matching);
    EXPECT_NEAR(static_cast<double>(matching->flight_us), 123'000.0, 150.0);
    EXPECT_EQ(matching->seen.first, 360);
    EXPECT_EQ(matching->seen.second, 380);
    EXPECT_EQ(matching->seen.both, 340);
}

TEST(Efficiency, RefusesALogWithOneGate) {
    using namespace bench_virtual;
    Scenario scenario = single_scenario();
    scenario.drops = 20;
    scenario.channels.front().gates[0].reset();
    const auto pulses = pulses_of(open_string(log_of(scenario).bytes), "one.droplog", std::nullopt);
    ASSERT_FALSE(pulses);
    EXPECT_EQ(pulses.error().where, "one.droplog");
}
