#include "calibration/flight/flight.hpp"
#include "calibration/flight/terminal_speed.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::calibration;

namespace {
constexpr Confidence usual{0.95};
}

// Recomputed from the standard formulas, g = 9.80665 m/s².
TEST(Flight, FollowsTheFormulasOfFall) {
    struct Row {
        double height_mm, exit_mps;
        std::optional<Input> terminal;
        double seconds;
        double half_a_digit;
    };
    const Row rows[] = {{400.0, 0.0, {}, 0.285617, 0.5e-6},
                        {500.0, 0.0, {}, 0.319330, 0.5e-6},
                        {400.0, 0.5, {}, 0.2391467, 0.5e-7},
                        {300.0, 1.0, {}, 0.1655750, 0.5e-7},
                        {500.0, 2.0, {}, 0.1749558, 0.5e-7},
                        {500.0, 0.0, Input{5.6, 0.0}, 0.3277129, 0.5e-7},
                        {1000.0, 0.0, Input{5.6, 0.0}, 0.4754640, 0.5e-7},
                        {500.0, 0.0, Input{3.0, 0.0}, 0.3489595, 0.5e-7}};
    for (const Row& row : rows) {
        const auto found = flight({{row.height_mm, 0.0}, {row.exit_mps, 0.0}, row.terminal}, usual);
        ASSERT_TRUE(found);
        EXPECT_NEAR(found->flight_us.value / 1e6, row.seconds, row.half_a_digit);
    }
}

TEST(Flight, JoinsTheTwoLawsWhereAirHardlyMatters) {
    EXPECT_NEAR(flight_seconds(0.4, 0.5, 1e4), flight_seconds(0.4, 0.5, {}), 1e-6);
    EXPECT_GT(flight_seconds(0.4, 0.5, 4.0), flight_seconds(0.4, 0.5, {}));
    EXPECT_LT(flight_seconds(0.4, 0.5, 4.0), flight_seconds(0.4, 0.0, 4.0));
}

// Monte Carlo as in JCGM 101, own simulation.
TEST(Flight, PropagatesUncertaintyAsMonteCarloDoes) {
    const FlightGeometry geometry{{400.0, 3.0}, {0.6, 0.08}, Input{5.0, 0.4}};
    const auto found = flight(geometry, usual);
    std::mt19937_64 random(3);
    std::normal_distribution<double> normal;
    constexpr int draws = 40000;
    double sum = 0.0;
    double squares = 0.0;
    for (int i = 0; i < draws; ++i) {
        const double t = flight_seconds((400.0 + 3.0 * normal(random)) / 1000.0,
                                        0.6 + 0.08 * normal(random), 5.0 + 0.4 * normal(random));
        sum += t;
        squares += t * t;
    }
    const double mean = sum / draws;
    const double sd = std::sqrt(squares / draws - mean * mean);
    EXPECT_NEAR(found->flight_us.value / 1e6, mean,
                0.06 * sd); // the formula is bent: second order is left out
    EXPECT_NEAR(found->u_us / 1e6, sd, 0.03 * sd);
}

// Constructed: three seeds 250, 252, 248 ms on their way, both directions.
TEST(Flight, TakesTheMeanOfLandingsMeasuredByRule) {
    const auto landings = read_landings(
        "landing_mm,position_mm,speed_mps\n350,100,1\n852,600,1\n-148,100,-1\n", "l.csv");
    ASSERT_TRUE(landings);
    const auto found = flight(*landings, 0.0, usual);
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->flight_us.value, 250'000.0, 1e-6);
    EXPECT_NEAR(found->u_us, 2000.0 / std::sqrt(3.0), 1e-6);
    // a rule that lies 3 mm off shifts two seeds one way and one the other: 1 ms of the mean a
    // millimetre, over 3
    EXPECT_NEAR(flight(*landings, 3.0, usual)->u_us, std::hypot(2000.0 / std::sqrt(3.0), 1000.0),
                1e-6);
}

TEST(Flight, RefusesWhatCannotBe) {
    EXPECT_FALSE(flight({{-1.0, 0.0}, {}, {}}, usual));
    EXPECT_FALSE(flight({{400.0, -1.0}, {}, {}}, usual));
    EXPECT_FALSE(flight({{400.0, 1.0}, {5.0, 0.1}, Input{5.0, 0.1}}, usual));
    EXPECT_FALSE(flight(std::vector<Landing>{{0, 1, 2}, {0, 1, 2}}, 0.0, usual));
    EXPECT_FALSE(read_landings("position_mm,speed_mps,landing_mm\n1,0,3\n", "x"));
}

// The fall from 400 mm takes what is left after the first 350 mm: differences of the law's own times.
TEST(Flight, BelowAGateIsWhatIsLeftOfTheFallFromRest) {
    const auto airless = flight_below(GateHeights{{400.0, 0.0}, {50.0, 0.0}, {}}, usual);
    ASSERT_TRUE(airless);
    EXPECT_NEAR(airless->flight_us.value,
                1e6 * (std::sqrt(0.8 / 9.80665) - std::sqrt(0.7 / 9.80665)), 1e-3);
    const auto slow = flight_below(GateHeights{{400.0, 0.0}, {50.0, 0.0}, Input{3.8, 0.0}}, usual);
    ASSERT_TRUE(slow);
    EXPECT_NEAR(slow->flight_us.value,
                1e6 * (flight_seconds(0.4, 0.0, 3.8) - flight_seconds(0.35, 0.0, 3.8)), 1e-3);
    EXPECT_GT(slow->flight_us.value, airless->flight_us.value);
    EXPECT_DOUBLE_EQ(slow->u_us, 0.0);
}

// Monte Carlo as in JCGM 101, own simulation.
TEST(Flight, BelowAGateCarriesTheUncertaintyOfBothHeightsAndTheSpeed) {
    const auto found = flight_below(GateHeights{{400.0, 4.0}, {50.0, 2.0}, Input{4.0, 0.5}}, usual);
    ASSERT_TRUE(found);
    std::mt19937_64 random(5);
    std::normal_distribution<double> normal;
    constexpr int draws = 40000;
    double sum = 0.0;
    double squares = 0.0;
    for (int i = 0; i < draws; ++i) {
        const double from = (400.0 + 4.0 * normal(random)) / 1000.0;
        const double gate = (50.0 + 2.0 * normal(random)) / 1000.0;
        const double w = 4.0 + 0.5 * normal(random);
        const double t = flight_seconds(from, 0.0, w) - flight_seconds(from - gate, 0.0, w);
        sum += t;
        squares += t * t;
    }
    const double mean = sum / draws;
    // Of the first order (JCGM 100): with a speed known to 12 % only, drawing gives 5 % more.
    EXPECT_NEAR(found->u_us, 1e6 * std::sqrt(squares / draws - mean * mean), 0.08 * found->u_us);
}

TEST(Flight, RefusesAGateThatIsNotBelow) {
    EXPECT_FALSE(flight_below(GateHeights{{50.0, 0.0}, {400.0, 0.0}, {}}, usual));
    EXPECT_FALSE(flight_below(GateHeights{{400.0, 0.0}, {-1.0, 0.0}, {}}, usual));
    EXPECT_FALSE(flight_below(GateHeights{{400.0, 0.0}, {50.0, 0.0}, Input{0.0, 0.0}}, usual));
}

TEST(TerminalSpeed, IsTheRangeOfTheCropsFact) {
    const TerminalSpeed triticale = terminal_speed("triticale");
    EXPECT_TRUE(triticale.known);
    EXPECT_DOUBLE_EQ(triticale.mps.value, (5.37 + 6.42) / 2);
    EXPECT_NEAR(triticale.mps.u, (6.42 - 5.37) / std::sqrt(12.0), 1e-12);
    const TerminalSpeed nobody = terminal_speed("moon wheat");
    EXPECT_FALSE(nobody.known);
    EXPECT_GT(nobody.mps.u, triticale.mps.u);
}
