#include "analysis/measures/corrections/portion_correction.hpp"

#include "analysis/statistics/shares/proportion.hpp"

#include <gtest/gtest.h>

#include <algorithm>
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

bool holds(const Corrected& found, double truth) {
    return found.estimate.interval->low <= truth && truth <= found.estimate.interval->high;
}

// Portions of 3, drawn: 2 % empty, 8 % with 2, 84 % with 3, 6 % with 4 seeds, thinned.
std::vector<std::int64_t> seen_of(std::int64_t drops, double efficiency, std::mt19937_64& random) {
    std::discrete_distribution<int> held({0.02, 0.0, 0.08, 0.84, 0.06});
    std::vector<std::int64_t> out(5, 0);
    for (std::int64_t i = 0; i < drops; ++i)
        ++out.at(static_cast<std::size_t>(
            std::binomial_distribution<int>(held(random), efficiency)(random)));
    return out;
}

} // namespace

// Constructed by hand: 10 % with one seed, 90 % with two, seen by a gate that overlooks 20 %: none
// 0.1·0.2 + 0.9·0.04 = 0.056, one 0.1·0.8 + 0.9·0.32 = 0.368, two 0.576.
TEST(PortionCorrection, UndoesTheThinning) {
    const auto found = corrected_portions({.distribution = {56'000, 368'000, 576'000}, .target = 2},
                                          gate(800'000, 1'000'000), usual);
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->empty.estimate.value, 0.0, 1e-9);
    EXPECT_NEAR(found->shorted.estimate.value, 0.1, 1e-9);
    EXPECT_NEAR(found->exact.estimate.value, 0.9, 1e-9);
    EXPECT_NEAR(found->over.estimate.value, 0.0, 1e-9);
}

TEST(PortionCorrection, LeavesAPerfectGateAlone) {
    const Estimate perfect{1.0, Interval{1.0, 1.0}, usual, "certain"};
    const auto found =
        corrected_portions({.distribution = {10, 0, 40, 430, 20}, .target = 3}, perfect, usual);
    EXPECT_NEAR(found->exact.estimate.value, 0.86, 1e-12);
    EXPECT_NEAR(found->empty.estimate.value, 0.02, 1e-12);
    const Interval plain = statistics::clopper_pearson(430, 500, usual);
    EXPECT_LE(found->exact.estimate.interval->low, plain.low + 1e-12);
    EXPECT_GE(found->exact.estimate.interval->high, plain.high - 1e-12);
    EXPECT_NEAR(found->exact.endless.low, found->exact.endless.high, 1e-12);
}

TEST(PortionCorrection, HasAnIntervalWhereAllPortionsLookedAlike) {
    const auto found =
        corrected_portions({.distribution = {0, 0, 0, 200}, .target = 3}, gate(999, 1000), usual);
    EXPECT_EQ(found->exact.estimate.value, 1.0);
    EXPECT_LT(found->exact.estimate.interval->low, 0.985);
    EXPECT_GT(found->empty.estimate.interval->high, 0.0);
}

TEST(PortionCorrection, IsNotDefinedWithoutDropsOrEfficiencyOrDigits) {
    EXPECT_FALSE(corrected_portions({.distribution = {0, 0}, .target = 2}, gate(9, 10), usual));
    EXPECT_FALSE(corrected_portions({.distribution = {1, 9}, .target = 1}, gate(0, 10), usual));
    EXPECT_FALSE(corrected_portions({.distribution = {1, 9}, .target = 1},
                                    Estimate{0.9, {}, usual, ""}, usual));
    std::vector<std::int64_t> many(60, 0);
    many.back() = 100;
    EXPECT_FALSE(corrected_portions({.distribution = many, .target = 59}, gate(30, 100), usual));
}

TEST(PortionCorrection, ScalesAMeanUp) {
    const auto found = scaled_up({2.4, Interval{2.3, 2.5}, usual, ""}, gate(800, 1000), usual);
    EXPECT_NEAR(found->estimate.value, 3.0, 1e-12);
    EXPECT_LT(found->estimate.interval->low, 2.3 / 0.8);
    EXPECT_GT(found->estimate.interval->high, 2.5 / 0.8);
}

// JCGM 101 Monte Carlo: counts (Dirichlet) and efficiency (beta) through the same formula, own
// simulation.
TEST(PortionCorrection, GivesTheIntervalThatMonteCarloGives) {
    constexpr std::size_t target = 3;
    const std::vector<std::int64_t> seen{15, 20, 160, 280, 25};
    const Estimate efficiency = gate(1840, 2000);
    const auto found =
        corrected_portions({.distribution = seen, .target = target}, efficiency, usual);
    ASSERT_TRUE(found);
    std::mt19937_64 random(11);
    const auto gamma = [&](std::int64_t x) {
        return std::gamma_distribution<double>(static_cast<double>(x) + 0.5)(random);
    };
    std::vector<double> exact;
    for (int i = 0; i < 20000; ++i) {
        std::vector<double> q;
        double total = 0.0;
        for (const std::int64_t count : seen)
            total += q.emplace_back(gamma(count));
        const double a = gamma(1840);
        const double eta = a / (a + gamma(160));
        // share with three seeds: q3/η³ − 4·q4·(1 − η)/η⁴, by hand
        exact.push_back((q[3] - 4.0 * q[4] * (1.0 - eta) / eta) / total / (eta * eta * eta));
    }
    std::sort(exact.begin(), exact.end());
    EXPECT_NEAR(found->exact.estimate.value, exact[10000], 0.004);
    EXPECT_NEAR(found->exact.estimate.interval->low, exact[500], 0.012);
    EXPECT_NEAR(found->exact.estimate.interval->high, exact[19500], 0.012);
    EXPECT_LE(found->exact.estimate.interval->low, exact[500] + 0.002);
    EXPECT_GE(found->exact.estimate.interval->high, exact[19500] - 0.002);
}

// Own simulation: the run and its calibration are drawn anew.
TEST(PortionCorrection, CoversTheTruth) {
    constexpr int runs = 400;
    constexpr double efficiency = 0.9;
    std::mt19937_64 random(23);
    int empty = 0;
    int shorted = 0;
    int exact = 0;
    int over = 0;
    for (int i = 0; i < runs; ++i) {
        const std::int64_t counted =
            std::binomial_distribution<std::int64_t>(1500, efficiency)(random);
        const auto found =
            corrected_portions({.distribution = seen_of(500, efficiency, random), .target = 3},
                               gate(counted, 1500), usual);
        empty += holds(found->empty, 0.02) ? 1 : 0;
        shorted += holds(found->shorted, 0.08) ? 1 : 0;
        exact += holds(found->exact, 0.84) ? 1 : 0;
        over += holds(found->over, 0.06) ? 1 : 0;
    }
    for (const int covered : {empty, shorted, exact, over})
        EXPECT_GE(covered, 380 - 18)
            << empty << ' ' << shorted << ' ' << exact << ' ' << over; // four standard errors
}
