#include "calibration/efficiency/efficiency.hpp"

#include "calibration/efficiency/gate_matching.hpp"

#include "analysis/base/readers/open_string.hpp"
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
    EXPECT_NEAR(two_gates({.both = 7, .first = 500, .second = 149}, usual)->seeds.value, 9392.75,
                0.005);
    EXPECT_NEAR(two_gates({.both = 7, .first = 500, .second = 149}, usual)->standard_error,
                3022.184, 0.0005);
    EXPECT_NEAR(two_gates({.both = 167, .first = 948, .second = 421}, usual)->seeds.value, 2382.798,
                0.0005);
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

// Constructed: at odds 1 it is Chapman's estimate, and more dependence never means more efficient
// gates.
TEST(Efficiency, BoundsWhatDependenceCouldDo) {
    const TwoObservers seen{900, 950, 940};
    const auto rows = dependence(seen, {1.0, 2.0, 10.0});
    ASSERT_EQ(rows.size(), 3U);
    EXPECT_NEAR(rows[0].seeds, two_gates(seen, usual)->seeds.value, 1e-9);
    EXPECT_LT(rows[0].seeds, rows[1].seeds);
    EXPECT_GT(rows[1].first_efficiency, rows[2].first_efficiency);
    // the 2 × 2 table of the last row has the stated odds ratio, with the pairs counted one up as
    // Chapman does
    const double neither = rows[2].seeds - 990.0;
    EXPECT_NEAR((900.0 + 1.0) * neither / (50.0 * 40.0), 10.0, 1e-9);
}

// Constructed: 30 g of a seed of 15 g a thousand are 2000; u by hand, sqrt((0.03/30)² +
// (0.06/15)²).
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
    const auto pairs =
        compare({{"Hand count", *hand}, {"Weighing", same->efficiency}, {"Two gates", *other}});
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

// Both gates under the valve, one without its flight time in the settings: the crowd of differences
// is found unaided.
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

// 2026-11-25: eight lines whose pulses all lie over a second apart, and settings that say so, ended
// `calibrate efficiency` with a signal.
TEST(Efficiency, FindsAFlightOfMoreThanASecond) {
    ChannelPulses pulses;
    pulses.expected_us = 1'500'000;
    GateTimes boot;
    boot.first_us = {0, 10'000'000, 20'000'000};
    boot.second_us = {1'500'100, 11'500'000, 21'499'900};
    pulses.boots = {boot};
    const auto matching = match(pulses);
    ASSERT_TRUE(matching);
    EXPECT_EQ(matching->seen.both, 3);
    EXPECT_EQ(matching->flight_us, 1'500'000);
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

// Constructed by hand: 900 seen by both, 60 and 40 by one alone; independent gates lose 60·40/900
// = 2.67 seeds both.
TEST(ImpliedDependence, TellsFromAnEfficiencyWhatEscapedBothGates) {
    const statistics::TwoObservers seen{.both = 900, .first = 960, .second = 940};
    // 960/0.94 = 1021.28 seeds fell, 1000 were seen by either
    const auto found =
        implied_dependence(seen, true, {0.94, statistics::Interval{0.93, 0.95}, usual, ""});
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->missed_by_both.value, 21.277, 0.001);
    EXPECT_NEAR(found->expected, 8.0 / 3.0, 1e-12);
    EXPECT_NEAR(found->odds->value, 7.979, 0.001);
    EXPECT_NE(found->words.find("flatter both"), std::string::npos);
    const auto independent =
        implied_dependence(seen, true, {0.957, statistics::Interval{0.95, 0.965}, usual, ""});
    EXPECT_NE(independent->words.find("nothing speaks against"), std::string::npos);
    EXPECT_FALSE(implied_dependence({.both = 900, .first = 900, .second = 940}, true,
                                    {0.957, statistics::Interval{0.95, 0.965}, usual, ""})
                     ->odds);
    EXPECT_FALSE(implied_dependence(seen, true, {0.94, {}, usual, ""}));
}

// Own simulation on the virtual bench: dust and doubles spoil the efficiencies unless they are told
// from seeds.
TEST(GateMatching, LeavesDustOutByThePulseClassifier) {
    using namespace bench_virtual;
    Scenario scenario =
        scenario_of(with(single_toml, "detection = 0.95", "detection = 0.95\ndebris_per_m = 1.0"));
    scenario.drops = 1500;
    std::string bytes;
    LogSinks sinks;
    sinks.line = [&](std::string_view line) { bytes.append(line); };
    simulate_log(scenario, sinks);
    const auto plain = match(*pulses_of(open_string(bytes), "test", std::nullopt));
    const ClassifiersFor by_width = [](const droplog::Header&, int) -> Result<Classifiers> {
        return Classifiers{
            {1, [](ledger::PulseShape shape) { return shape.width_us < 500 ? 0U : 1U; }}};
    };
    const auto pulses = pulses_of(open_string(bytes), "test", std::nullopt, by_width);
    ASSERT_TRUE(pulses);
    const auto clean = match(*pulses);
    EXPECT_GT(pulses->gates[1].dust, 100);
    EXPECT_TRUE(pulses->gates[1].classified);
    EXPECT_FALSE(pulses->gates[0].classified);
    EXPECT_GT(two_gates(clean->seen, usual)->first_efficiency->value,
              two_gates(plain->seen, usual)->first_efficiency->value + 0.1);
    const ClassifiersFor refusing = [](const droplog::Header&, int) -> Result<Classifiers> {
        return Error{ErrorKind::usage, "calibration X", "it is for another", ""};
    };
    EXPECT_FALSE(pulses_of(open_string(bytes), "test", std::nullopt, refusing));
}

TEST(GateMatching, SaysWhatDeadTimeCosts) {
    ChannelPulses pulses;
    pulses.boots.push_back({{}, {0, 1'000'000, 2'000'000}, {}});
    pulses.gates[0] = {.classified = false, .pulses = 3, .dust = 0, .several = 0, .dead_us = 1000};
    // 1.5 a second counted, 1 ms blind: 0.15 %
    EXPECT_NEAR(*pulses.lost_to_dead_time(0), 0.0015, 1e-12);
    EXPECT_FALSE(pulses.lost_to_dead_time(1));
}
