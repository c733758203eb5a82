#include "analysis/measures/corrections/line_correction.hpp"

#include "analysis/statistics/shares/proportion.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::measures;
using statistics::Estimate;

namespace {

constexpr Confidence usual{0.95};
constexpr std::int64_t segment_um = 100'000;

Estimate gate(std::int64_t seen, std::int64_t dropped) {
    return *statistics::share_estimate(seen, dropped, 1.0, usual);
}

// 30 seeds a metre with gamma distances (variation 0.5): more even than random; each shown with
// this probability.
LineResult line_of(int seeds, double efficiency, std::mt19937_64& random) {
    LineTally tally(segment_um);
    std::gamma_distribution<double> gap(4.0, 1e6 / 30.0 / 4.0);
    std::bernoulli_distribution seen(efficiency);
    double at = 0.0;
    for (int i = 0; i < seeds; ++i) {
        at += gap(random);
        if (seen(random))
            tally.add(std::llround(at), 1);
    }
    return tally.result(30'000, usual);
}

bool holds(const std::optional<Corrected>& found, double truth) {
    return found->estimate.interval->low <= truth && truth <= found->estimate.interval->high;
}

} // namespace

// Constructed by hand: 3 seeds a segment, D = 0.5; a gate of 80 % shows 2.4 and 1 + 0.8·(0.5 − 1) =
// 0.6.
TEST(LineCorrection, UndoesTheThinning) {
    LineResult line;
    line.segment_um = segment_um;
    line.mean_per_m = Estimate{24.0, statistics::Interval{23.5, 24.5}, usual, ""};
    line.rate_error = Estimate{-0.2, statistics::Interval{-0.22, -0.18}, usual, ""};
    line.dispersion_index = Estimate{0.6, statistics::Interval{0.55, 0.66}, usual, ""};
    line.cv = Estimate{std::sqrt(0.6 / 2.4), statistics::Interval{0.48, 0.52}, usual, ""};
    const auto found = corrected_line(line, gate(800'000, 1'000'000), usual);
    EXPECT_NEAR(found.mean_per_m->estimate.value, 30.0, 1e-9);
    EXPECT_NEAR(found.rate_error->estimate.value, 0.0, 1e-9);
    EXPECT_NEAR(found.dispersion_index->estimate.value, 0.5, 1e-9);
    EXPECT_NEAR(found.cv->estimate.value, std::sqrt(0.5 / 3.0), 1e-9);
    EXPECT_LT(found.rate_error->estimate.interval->low, -0.02);
    EXPECT_GT(found.cv->estimate.interval->high, found.cv->estimate.value);
}

TEST(LineCorrection, LeavesOutWhatHasNoInterval) {
    LineResult line;
    line.segment_um = segment_um;
    EXPECT_FALSE(corrected_line(line, gate(8, 10), usual).cv);
    line.mean_per_m = Estimate{24.0, {}, usual, ""};
    line.dispersion_index = Estimate{0.6, statistics::Interval{0.5, 0.7}, usual, ""};
    EXPECT_FALSE(corrected_line(line, gate(8, 10), usual).mean_per_m);
    EXPECT_TRUE(corrected_line(line, gate(8, 10), usual).dispersion_index);
}

// Own simulation; the truth is what a very long line shows to a gate that overlooks nothing.
TEST(LineCorrection, CoversTheTruth) {
    constexpr int runs = 300;
    constexpr double efficiency = 0.85;
    std::mt19937_64 random(31);
    const LineResult truth = line_of(300'000, 1.0, random);
    int rate = 0;
    int dispersion = 0;
    int cv = 0;
    for (int i = 0; i < runs; ++i) {
        const std::int64_t counted =
            std::binomial_distribution<std::int64_t>(2000, efficiency)(random);
        const auto found =
            corrected_line(line_of(1500, efficiency, random), gate(counted, 2000), usual);
        rate += holds(found.rate_error, 0.0) ? 1 : 0;
        dispersion += holds(found.dispersion_index, truth.dispersion_index->value) ? 1 : 0;
        cv += holds(found.cv, truth.cv->value) ? 1 : 0;
    }
    for (const int covered : {rate, dispersion, cv})
        EXPECT_GE(covered, 285 - 16)
            << rate << ' ' << dispersion << ' ' << cv; // four standard errors
}
