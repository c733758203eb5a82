#include "analysis/measures/corrections/sensor_correction.hpp"

#include "analysis/statistics/shares/proportion.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

using namespace dropledger;
using namespace dropledger::measures;
using statistics::Estimate;
using statistics::Interval;

namespace {

constexpr Confidence usual{0.95};

Estimate gate(std::int64_t seen, std::int64_t dropped) {
    return *statistics::share_estimate(seen, dropped, 1.0, usual);
}

} // namespace

// Constructed: 1 % empty, 97 % one, 2 % two seeds, seen by a gate that overlooks 30 %; expected
// shares by hand.
TEST(SensorCorrection, UndoesTheThinning) {
    constexpr std::int64_t drops = 1'000'000;
    const auto found =
        corrected_shares({.drops = drops, .miss = 10'000 + 291'000 + 1'800, .multiple = 9'800},
                         gate(700'000, 1'000'000), usual);
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->miss.estimate.value, 0.01, 1e-9);
    EXPECT_NEAR(found->single.estimate.value, 0.97, 1e-9);
    EXPECT_NEAR(found->multiple.estimate.value, 0.02, 1e-9);
}

TEST(SensorCorrection, LeavesAPerfectGateAlone) {
    Estimate perfect{1.0, Interval{1.0, 1.0}, usual, "certain"};
    const auto found = corrected_shares({.drops = 500, .miss = 10, .multiple = 5}, perfect, usual);
    const Interval plain = statistics::clopper_pearson(10, 500, usual);
    EXPECT_NEAR(found->miss.estimate.value, 0.02, 1e-12);
    EXPECT_NEAR(found->miss.estimate.interval->low, plain.low, 1e-12);
    EXPECT_NEAR(found->miss.estimate.interval->high, plain.high, 1e-12);
}

TEST(SensorCorrection, IsNotDefinedWithoutDropsOrEfficiency) {
    EXPECT_FALSE(corrected_shares({}, gate(9, 10), usual));
    EXPECT_FALSE(corrected_shares({.drops = 10}, gate(0, 10), usual));
    EXPECT_FALSE(corrected_shares({.drops = 10}, Estimate{0.9, {}, usual, ""}, usual));
}

TEST(SensorCorrection, NeverLeavesZeroToOne) {
    const auto found =
        corrected_shares({.drops = 500, .miss = 0, .multiple = 0}, gate(90, 100), usual);
    EXPECT_EQ(found->miss.estimate.value, 0.0);
    EXPECT_EQ(found->miss.estimate.interval->low, 0.0);
    EXPECT_LE(found->single.estimate.interval->high, 1.0);
}

// JCGM 101 Monte Carlo: the distributions of count and efficiency through the same formula, own
// simulation.
TEST(SensorCorrection, GivesTheIntervalThatMonteCarloGives) {
    struct Row {
        std::int64_t miss, dropped, seen;
    };
    for (const Row& row : {Row{60, 1000, 970}, Row{160, 2000, 1700}, Row{30, 500, 490}}) {
        constexpr std::int64_t drops = 1000;
        const auto found = corrected_shares({.drops = drops, .miss = row.miss, .multiple = 0},
                                            gate(row.seen, row.dropped), usual);
        std::mt19937_64 random(7);
        const auto beta = [&](std::int64_t x, std::int64_t n) { // Jeffreys' distribution of a share
            const double a = std::gamma_distribution<double>(static_cast<double>(x) + 0.5)(random);
            const double b =
                std::gamma_distribution<double>(static_cast<double>(n - x) + 0.5)(random);
            return a / (a + b);
        };
        std::vector<double> drawn;
        for (int i = 0; i < 20000; ++i) {
            const double m = beta(row.miss, drops);
            const double efficiency = beta(row.seen, row.dropped);
            drawn.push_back(std::clamp(m - (1.0 - m) * (1.0 - efficiency) / efficiency, 0.0, 1.0));
        }
        std::sort(drawn.begin(), drawn.end());
        // Clopper-Pearson is a little wider than Jeffreys on both sides
        EXPECT_NEAR(found->miss.estimate.interval->low, drawn[500], 0.0025) << row.miss;
        EXPECT_NEAR(found->miss.estimate.interval->high, drawn[19500], 0.0025) << row.miss;
        EXPECT_LE(found->miss.estimate.interval->low, drawn[500] + 0.0005);
        EXPECT_GE(found->miss.estimate.interval->high, drawn[19500] - 0.0005);
    }
}

// Own simulation: both the run and its calibration are drawn anew.
TEST(SensorCorrection, CoversTheTruth) {
    constexpr int runs = 1000;
    constexpr double truth = 0.03;
    constexpr double efficiency = 0.85;
    std::mt19937_64 random(19);
    int covered = 0;
    for (int i = 0; i < runs; ++i) {
        std::binomial_distribution<std::int64_t> seeds(600, 1.0 - truth);
        std::binomial_distribution<std::int64_t> pulses(seeds(random), efficiency);
        std::binomial_distribution<std::int64_t> seen(800, efficiency);
        const auto found =
            corrected_shares({.drops = 600, .miss = 600 - pulses(random), .multiple = 0},
                             gate(seen(random), 800), usual);
        covered += found->miss.estimate.interval->low <= truth &&
                           truth <= found->miss.estimate.interval->high
                       ? 1
                       : 0;
    }
    EXPECT_GE(covered, 950 - 28); // four binomial standard errors
}

// Own simulation: how many of this run's silent drops were empty is a count of the run, not a share;
// the interval of the share held it in 85 to 100 % of runs, hit and miss.
TEST(SensorCorrection, PredictsHowManySilentDropsWereEmpty) {
    struct Row {
        double truth;
        double efficiency;
        std::int64_t drops;
        std::int64_t dropped;
    };
    constexpr int runs = 1000;
    std::mt19937_64 random(23);
    for (const Row& row : {Row{0.03, 0.85, 600, 800}, Row{0.01, 0.98, 250, 5000},
                           Row{0.10, 0.60, 1000, 20'000}, Row{0.05, 0.93, 60, 300}}) {
        int covered = 0;
        for (int i = 0; i < runs; ++i) {
            const std::int64_t empty =
                std::binomial_distribution<std::int64_t>(row.drops, row.truth)(random);
            const std::int64_t pulses =
                std::binomial_distribution<std::int64_t>(row.drops - empty, row.efficiency)(random);
            const std::int64_t seen =
                std::binomial_distribution<std::int64_t>(row.dropped, row.efficiency)(random);
            const auto found = empty_drops({.drops = row.drops, .miss = row.drops - pulses},
                                           gate(seen, row.dropped), usual);
            ASSERT_TRUE(found);
            EXPECT_GE(found->low, 0.0);
            EXPECT_LE(found->high, static_cast<double>(row.drops - pulses));
            const auto count = static_cast<double>(empty);
            covered += found->low <= count && count <= found->high ? 1 : 0;
        }
        EXPECT_GE(covered, 930) << row.truth << ' ' << row.efficiency;
    }
}

TEST(SensorCorrection, TakesSilentDropsForEmptyWhereTheGateSeesEverySeed) {
    const Estimate perfect{.value = 1.0, .interval = Interval{1.0, 1.0}, .confidence = usual};
    const auto found = empty_drops({.drops = 500, .miss = 12}, perfect, usual);
    ASSERT_TRUE(found);
    EXPECT_EQ(found->low, 12.0);
    EXPECT_EQ(found->high, 12.0);
    EXPECT_FALSE(empty_drops({.drops = 5, .miss = 5}, perfect, usual));
}
