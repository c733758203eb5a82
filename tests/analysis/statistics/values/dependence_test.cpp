// Constructed; the autoregression's inflation (1 + r)/(1 − r) is textbook (Brockwell & Davis), its
// finite form was summed term by term here.
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/values/dependence.hpp"
#include "analysis/statistics/values/dependent_intervals.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>
#include <random>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

const Confidence ninety_five{0.95};

SeriesSums sums_of(const std::vector<std::int64_t>& values) {
    ScaleEnergies energies;
    double sum = 0.0;
    for (const std::int64_t value : values) {
        energies.add(value);
        sum += static_cast<double>(value);
    }
    const double mean = sum / static_cast<double>(values.size());
    SeriesSums sums{.n = std::ssize(values), .squares = 0.0, .scales = energies.scales()};
    for (const std::int64_t value : values)
        sums.squares += (static_cast<double>(value) - mean) * (static_cast<double>(value) - mean);
    return sums;
}

std::vector<std::int64_t> wandering(double memory, int n, std::uint64_t seed) {
    std::mt19937_64 random{seed};
    std::normal_distribution<double> normal;
    std::vector<std::int64_t> values;
    double at = normal(random);
    for (int i = 0; i < n; ++i) {
        at = memory * at + std::sqrt(1.0 - memory * memory) * normal(random);
        values.push_back(std::llround(10'000.0 * at));
    }
    return values;
}

} // namespace

TEST(ScaleEnergies, SumDifferencesOfNeighbouringBlocks) {
    ScaleEnergies energies;
    for (const std::int64_t value : {1, 4, -2, 0, 7, 7, 3}) // the last waits for its neighbour
        energies.add(value);
    const auto scales = energies.scales();
    ASSERT_EQ(scales.size(), 2U);
    EXPECT_EQ(scales[0].pairs, 3);
    EXPECT_EQ(scales[0].energy, 9.0 + 4.0 + 0.0);
    EXPECT_EQ(scales[1].block, 2);
    EXPECT_EQ(scales[1].pairs, 1);
    EXPECT_EQ(scales[1].energy, 49.0); // 5 and −2
}

TEST(ScaleEnergies, DoNotRoundFarOut) {
    ScaleEnergies energies;
    constexpr std::int64_t far = std::int64_t{1} << 37;
    for (int i = 0; i < 4; ++i)
        energies.add(i % 2 == 0 ? far : far + 1);
    EXPECT_EQ(energies.scales().front().energy, 2.0);
    EXPECT_EQ(energies.scales().back().energy, 0.0);
}

TEST(Dependence, InflatesAsTheSumOfCorrelations) {
    for (const double r : {0.1, 0.6, 0.97})
        for (const int n : {1, 2, 17, 400}) {
            double sum = 1.0;
            for (int k = 1; k < n; ++k)
                sum += 2.0 * (1.0 - static_cast<double>(k) / n) * std::pow(r, k);
            EXPECT_NEAR(geometric_inflation(r, n), sum, 1e-9 * sum) << r << ' ' << n;
        }
    EXPECT_EQ(geometric_inflation(0.0, 50.0), 1.0);
    EXPECT_EQ(geometric_inflation(-0.5, 50.0), 1.0);
}

// Two normal values with correlation r lie on the same side of their median in ½ + asin(r)/π of
// cases (Sheppard 1899), so the indicators correlate by 2·asin(r)/π.
TEST(Dependence, CarriesCorrelationOverToTheMedian) {
    const IndicatorWeights median{0.5};
    for (const double r : {0.2, 0.5, 0.8})
        EXPECT_NEAR(median.inflation({.rho = r, .wander = 1.0}, 2.0),
                    1.0 + 2.0 * std::asin(r) / std::acos(-1.0), 2e-3)
            << r;
    EXPECT_EQ(median.inflation({.rho = 0.0, .wander = 0.0}, 100.0), 1.0);
}

TEST(Dependence, FindsWhatIsThere) {
    const auto none = Dependence::of(sums_of(wandering(0.0, 2000, 1)));
    EXPECT_NEAR(none->mean_inflation(), 1.0, 0.1);
    const auto strong = Dependence::of(sums_of(wandering(0.9, 2000, 1)));
    EXPECT_NEAR(strong->mean_inflation(), 19.0, 6.0);
    EXPECT_GT(strong->doubt(), 0.999);
    double weights = 0.0;
    for (const DependencePoint& point : strong->points())
        weights += point.weight;
    EXPECT_NEAR(weights, 1.0, 1e-12);
}

TEST(Dependence, HasNoModelOfValuesAllAlikeOrTooFew) {
    EXPECT_FALSE(Dependence::of(sums_of(std::vector<std::int64_t>(100, 7))));
    EXPECT_FALSE(Dependence::of(sums_of({1, 2, 3})));
    EXPECT_FALSE(Dependence::of(sums_of({5, 5, 5, 5, 9}))); // no pair differs
}

TEST(DependentIntervals, AreStudentsWhereNothingSpeaksForDependence) {
    const auto sums = sums_of(wandering(0.0, 1000, 3));
    const auto dependence = *Dependence::of(sums);
    const double usual =
        student_t_quantile(0.975, 999.0) * std::sqrt(sums.squares / 999.0 / 1000.0);
    EXPECT_NEAR(MeanLaw{dependence}.half_width(ninety_five), usual, 0.1 * usual);
}

TEST(DependentIntervals, AgreeWithTheirTails) {
    const auto dependence = *Dependence::of(sums_of(wandering(0.6, 300, 4)));
    const MeanLaw law{dependence};
    const double half = law.half_width(ninety_five);
    EXPECT_NEAR(law.beyond(half), 0.05, 1e-9);
    EXPECT_NEAR(law.beyond(-half), 0.05, 1e-9);
    EXPECT_GT(law.beyond(half, 0.5 * half), 0.05);
    EXPECT_GT(2.5 * law.standard_error(), half);
}

TEST(DependentIntervals, SayWhyThereIsNone) {
    const auto few =
        mean_estimate(1.0, *Dependence::of(sums_of({3, 1, 2, 5, 4})), "mean", ninety_five);
    EXPECT_EQ(few.no_interval, NoInterval::few_values);
    EXPECT_FALSE(few.interval);
    std::vector<std::int64_t> ramp(40);
    std::iota(ramp.begin(), ramp.end(), 0);
    const auto drifting = mean_estimate(1.0, *Dependence::of(sums_of(ramp)), "mean", ninety_five);
    EXPECT_EQ(drifting.no_interval, NoInterval::hangs_together);
    EXPECT_NE(drifting.method.find("no interval"), std::string::npos);
    const auto short_run = *Dependence::of(sums_of(wandering(0.0, 60, 5)));
    EXPECT_EQ(variance_factors(short_run, {}, ninety_five).no_interval, NoInterval::tails_unknown);
    EXPECT_EQ(quantile_ranks(60, {.share = 0.95}, short_run, ninety_five).no_interval,
              NoInterval::too_few_ranks);
}

TEST(DependentIntervals, WidenRanksByClusters) {
    const auto dependence = *Dependence::of(sums_of(wandering(0.0, 200, 6)));
    const auto alone = *quantile_ranks(800, {.share = 0.5}, dependence, ninety_five).ranks;
    const auto clustered =
        *quantile_ranks(800, {.share = 0.5, .design = 4.0}, dependence, ninety_five).ranks;
    EXPECT_NEAR(static_cast<double>(clustered.high - clustered.low) /
                    static_cast<double>(alone.high - alone.low),
                2.0, 0.1);
}
