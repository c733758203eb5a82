#include "calibration/flight/strip_flight.hpp"
#include "calibration/flight/strip_match.hpp"

#include "analysis/base/readers/open_string.hpp"
#include "bench/virtual/run_log.hpp"
#include "tests/bench/virtual/a_scenario.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {

constexpr Confidence usual{0.95};
constexpr double zero_mm = 1234.0; // travel position of the rule's zero

struct StripRun {
    std::string log;
    std::vector<RuleReading> numbered;
    std::vector<RuleReading> by_place;
    double flight_us = 0.0; // truth
};

// A virtual run and its true landings, read to half a millimetre.
StripRun strip_run(double speed_mps, std::uint64_t seed, std::int64_t drops = 60) {
    using namespace bench_virtual;
    Scenario scenario = single_scenario();
    scenario.seed = seed;
    scenario.drops = drops;
    scenario.speed_um_s = std::llround(speed_mps * 1e6);
    StripRun out;
    out.flight_us = unit_times(scenario.channels.front(), scenario.crop).gates[1].to_ground_us;
    LogSinks sinks;
    sinks.line = [&](std::string_view line) { out.log.append(line); };
    sinks.truth = [&](const RunTruth& run) {
        for (const std::int64_t landing_um : run.truth.landings_um) {
            const double reading =
                std::round((static_cast<double>(landing_um) / 1000.0 - zero_mm) * 2.0) / 2.0;
            if (run.truth.kind == TruthKind::drop)
                out.numbered.push_back({run.truth.index, reading});
            out.by_place.push_back({std::nullopt, reading});
        }
    };
    simulate_log(scenario, sinks);
    return out;
}

Result<Strip> matched(const StripRun& run, const std::vector<RuleReading>& readings,
                      std::optional<double> zero) {
    StripWhere where{.file = "strip", .channel = {}, .gate = 1};
    where.zero_mm = zero;
    return match_strip(open_string(run.log), where, readings);
}

bool holds(const statistics::Estimate& found, double truth) {
    return found.interval->low <= truth && truth <= found.interval->high;
}

} // namespace

TEST(StripFlight, FindsTheFlightTimeWithTheRulesZeroKnown) {
    const StripRun run = strip_run(0.3, 5);
    for (const auto* readings : {&run.numbered, &run.by_place}) {
        const auto strip = matched(run, *readings, zero_mm);
        ASSERT_TRUE(strip) << strip.error().message();
        EXPECT_GT(strip->matched.size(), 40U);
        const auto found = flight({*strip}, {zero_mm, 0.3}, usual);
        ASSERT_TRUE(found);
        EXPECT_TRUE(holds(found->result.flight_us, run.flight_us)) << found->result.flight_us.value;
        EXPECT_FALSE(found->zero_mm);
        // a rule known to 0.3 mm at 0.3 m/s is 1 ms: it must be in there
        EXPECT_GT(found->result.u_us, 1000.0);
    }
}

TEST(StripFlight, PartsTheRulesZeroFromTheFlightByTwoSpeeds) {
    const StripRun slow = strip_run(0.15, 6);
    const StripRun fast = strip_run(0.5, 7);
    const auto a = matched(slow, slow.numbered, {});
    const auto b = matched(fast, fast.numbered, {});
    const auto found = flight({*a, *b}, {}, usual);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_TRUE(holds(found->result.flight_us, slow.flight_us)) << found->result.flight_us.value;
    EXPECT_TRUE(holds(*found->zero_mm, zero_mm)) << found->zero_mm->value;
    EXPECT_LT(found->result.u_us, 500.0);
}

TEST(StripFlight, RefusesWhatCannotBeTold) {
    const StripRun run = strip_run(0.3, 8);
    const auto one = matched(run, run.numbered, {});
    ASSERT_TRUE(one);
    const auto unknown_zero = flight({*one, *one}, {}, usual);
    ASSERT_FALSE(unknown_zero);
    EXPECT_NE(unknown_zero.error().remedy.find("`rule_zero_mm`"), std::string::npos);
    EXPECT_FALSE(flight({*one}, {std::nan(""), 0.0}, usual));
    const auto too_long = flight({*one}, {zero_mm + 1000.0, 0.0},
                                 usual); // a metre off at 0.3 m/s is over three seconds
    ASSERT_FALSE(too_long);
    EXPECT_NE(too_long.error().what.find("no seed falls that long"), std::string::npos);
    const auto which_drop = matched(run, run.by_place, {});
    ASSERT_FALSE(which_drop);
    EXPECT_NE(which_drop.error().what.find("one drop further on"), std::string::npos);
    EXPECT_FALSE(matched(run, {{std::nullopt, 1e6}, {std::nullopt, 2e6}}, zero_mm));
    StripWhere above{.file = "strip", .channel = {}, .gate = 0};
    EXPECT_FALSE(match_strip(open_string(run.log), above, run.numbered));
}

TEST(StripPairs, LeavesOutDropsWithSeveralSeedsAndCountsThem) {
    const std::vector<StripPulse> pulses{{100.0, 1.0}, {200.0, 1.0}, {203.0, 1.0}, {300.0, 1.0}};
    const std::vector<StripDrop> drops{{0, 110'000}, {1, 210'000}, {2, 310'000}};
    const auto pairs = pairs_by_number(
        pulses, drops, {{0, 110.0}, {1, 210.0}, {1, 213.0}, {2, 310.0}, {7, 800.0}}, 10'000.0);
    EXPECT_EQ(pairs.matched.size(), 2U);
    EXPECT_EQ(pairs.several, 2);
}

// Irregular places fit one way only, whatever is expected.
TEST(StripPairs, NeedsNoExpectationWhereThePatternIsItsOwn) {
    const std::vector<double> at{0.0, 130.0, 290.0, 395.0, 610.0, 700.0, 880.0, 1100.0};
    std::vector<StripPulse> pulses;
    std::vector<RuleReading> readings;
    for (const double place : at) {
        pulses.push_back({place, 0.5});
        readings.push_back({std::nullopt, place + 57.0});
    }
    readings.erase(readings.begin() + 2);
    const auto pairs = pairs_by_place(pulses, readings, {}, "strip");
    ASSERT_TRUE(pairs) << pairs.error().message();
    EXPECT_EQ(pairs->matched.size(), 7U);
    EXPECT_NEAR(pairs->matched.front().landing_mm, 57.0, 1e-9);
}

TEST(FlightComparison, SaysInWordsWhetherLandingsAndGeometryAgree) {
    const auto result = [](double value_us, double u_us) {
        FlightResult out;
        out.u_us = u_us;
        out.flight_us = {value_us,
                         statistics::Interval{value_us - 2.0 * u_us, value_us + 2.0 * u_us}, usual,
                         ""};
        return out;
    };
    const auto agree = compare(result(21'000, 300), result(20'500, 400), usual);
    EXPECT_TRUE(agree.agree);
    EXPECT_NE(agree.words.find("agree within"), std::string::npos);
    const auto differ = compare(result(23'000, 300), result(20'500, 400), usual);
    EXPECT_FALSE(differ.agree);
    EXPECT_NE(differ.words.find("do not agree"), std::string::npos);
    EXPECT_NEAR(differ.u_us, 500.0, 1e-9);
}

TEST(RuleTable, NamesTheLineThatIsWrong) {
    EXPECT_TRUE(read_rule("drop,landing_mm\n0,12.5\n", "r.csv"));
    for (const char* bad :
         {"drop,landing_mm\nx,1\n", "drop,landing_mm\n-1,1\n", "landing_mm\nwide\n"}) {
        const auto refused = read_rule(bad, "r.csv");
        ASSERT_FALSE(refused) << bad;
        EXPECT_EQ(refused.error().where, "r.csv:2");
    }
    EXPECT_FALSE(read_rule("landing_mm\n", "r.csv"));
}
