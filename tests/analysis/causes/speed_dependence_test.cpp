#include "analysis/causes/speed_dependence.hpp"

#include <gtest/gtest.h>

#include <random>

namespace dropledger::causes {
namespace {

// Constructed: 1,000 drops at each speed; misses at 0.1 m/s and what each m/s adds; a lag in ms (mm
// per m/s).
struct Unit {
    double miss_share = 0.01;
    double more_per_mps = 0.0;
    double lag_ms = 0.0;
};

std::vector<SpeedRun> runs_of(const Unit& unit, const std::vector<double>& speeds,
                              std::uint32_t seed) {
    std::mt19937 random(seed);
    std::vector<SpeedRun> runs;
    for (const double speed : speeds) {
        constexpr int drops = 1000;
        std::binomial_distribution<int> misses(drops,
                                               unit.miss_share + unit.more_per_mps * (speed - 0.1));
        std::binomial_distribution<int> multiples(drops, 0.01);
        std::normal_distribution<double> offset(2.0 + unit.lag_ms * speed, 0.4);
        runs.push_back({.speed_mps = speed,
                        .drops = drops,
                        .misses = misses(random),
                        .multiples = multiples(random),
                        .offset = Offset{offset(random), 0.4}});
    }
    return runs;
}

int blamed(const Unit& unit, const std::vector<double>& speeds, const char* evidence) {
    int count = 0;
    for (std::uint32_t seed = 0; seed < 200; ++seed)
        for (const Cause& cause : speed_causes(runs_of(unit, speeds, seed)))
            count += cause.evidence.find(evidence) != std::string::npos ? 1 : 0;
    return count;
}

const std::vector<double> three{0.1, 0.25, 0.4};

TEST(SpeedDependence, IsFoundInNineOfTenUnitsAndSeldomInAHealthyOne) {
    EXPECT_LE(blamed({}, three, ""), 10); // of 200
    EXPECT_LE(blamed({}, {0.1, 0.15, 0.2, 0.3, 0.4}, ""), 10);
    EXPECT_GE(blamed({.more_per_mps = 0.1}, three, "misses"), 180); // 1 % at 0.1 m/s, 4 % at 0.4
    EXPECT_GE(blamed({.lag_ms = 15.0}, three, "offset"), 180);      // 4.5 mm
}

TEST(SpeedDependence, GivesTheSlopeOfTheOffsetAsALag) {
    std::vector<SpeedRun> runs = runs_of({}, three, 1);
    for (SpeedRun& run : runs)
        run.offset = Offset{1.0 + 20.0 * run.speed_mps, 0.1}; // constructed
    for (const SpeedTrend& trend : speed_trends(runs)) {
        if (trend.what != SpeedTrend::What::offset)
            continue;
        EXPECT_NEAR(trend.per_mps, 20.0, 1e-9);
        EXPECT_NEAR(trend.slowest, 3.0, 1e-9);
        EXPECT_NEAR(trend.fastest, 9.0, 1e-9);
    }
}

TEST(SpeedDependence, MeasuresATrendByTheScatterOfTheRunsWhereThatIsWide) {
    std::vector<SpeedRun> runs = runs_of({}, {0.1, 0.2, 0.3, 0.4}, 1);
    for (std::size_t i = 0; i < runs.size(); ++i)
        runs[i].offset = Offset{i % 2 == 0 ? 0.0 : 8.0, 0.1}; // up and down, whatever the speed
    EXPECT_TRUE(speed_causes(runs).empty());
}

TEST(SpeedDependence, NeedsThreeSpeeds) {
    EXPECT_TRUE(speed_trends(runs_of({}, {0.1, 0.4, 0.1004, 0.399}, 1)).empty());
    EXPECT_EQ(distinct_speeds(runs_of({}, three, 1)), 3);
}

} // namespace
} // namespace dropledger::causes
