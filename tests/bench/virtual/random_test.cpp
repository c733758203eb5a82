#include "bench/virtual/unit/random.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace dropledger::bench_virtual {
namespace {

constexpr int n = 200000;

struct Moments {
    double mean;
    double variance;
};

template <class Draw> Moments moments_of(Draw draw) {
    double sum = 0.0;
    double squares = 0.0;
    for (int i = 0; i < n; ++i) {
        const double x = draw();
        sum += x;
        squares += x * x;
    }
    const double mean = sum / n;
    return {mean, squares / n - mean * mean};
}

TEST(Random, LogarithmAgreesWithTheLibraryToTheLastDigits) {
    for (double x = 1e-9; x < 1e9; x *= 1.37)
        EXPECT_NEAR(plain_log(x), std::log(x), 4e-15 * std::max(1.0, std::abs(std::log(x)))) << x;
}

TEST(Random, ExponentialAgreesWithTheLibraryToTheLastDigits) {
    for (double x = -30.0; x < 30.0; x += 0.137)
        EXPECT_NEAR(plain_exp(x) / std::exp(x), 1.0, 4e-15) << x;
}

// [recomputed] an independent xoshiro256** with splitmix64 seeding, run in another language.
TEST(Random, GivesTheSameBitsEverywhere) {
    Random random(42, 0);
    EXPECT_EQ(random.bits(), 1865750160070900731ULL);
    EXPECT_EQ(random.bits(), 6791145067590612263ULL);
}

TEST(Random, StreamsOfOneSeedDiffer) {
    EXPECT_NE(Random(42, 0).bits(), Random(42, 1).bits());
    EXPECT_NE(Random(42, 0).bits(), Random(43, 0).bits());
}

// Tolerances are 4 standard errors of the mean of n draws at these fixed seeds.
TEST(Random, UniformHasMeanOneHalf) {
    Random random(1, 0);
    EXPECT_NEAR(moments_of([&] { return random.uniform(); }).mean, 0.5,
                4.0 * std::sqrt(1.0 / 12.0 / n));
}

TEST(Random, NormalHasMeanZeroAndVarianceOne) {
    Random random(2, 0);
    const Moments seen = moments_of([&] { return random.normal(); });
    EXPECT_NEAR(seen.mean, 0.0, 4.0 / std::sqrt(n));
    EXPECT_NEAR(seen.variance, 1.0, 4.0 * std::sqrt(2.0 / n));
}

TEST(Random, ExponentialHasTheMeanAskedFor) {
    Random random(3, 0);
    const Moments seen = moments_of([&] { return random.exponential(7.0); });
    EXPECT_NEAR(seen.mean, 7.0, 4.0 * 7.0 / std::sqrt(n));
    EXPECT_NEAR(seen.variance, 49.0, 4.0 * 49.0 * std::sqrt(8.0 / n)); // kurtosis 9
}

TEST(Random, PoissonHasVarianceEqualToItsMean) {
    Random random(4, 0);
    const Moments seen = moments_of([&] { return static_cast<double>(random.poisson(3.5)); });
    EXPECT_NEAR(seen.mean, 3.5, 4.0 * std::sqrt(3.5 / n));
    EXPECT_NEAR(seen.variance, 3.5, 4.0 * std::sqrt((3.5 + 2 * 3.5 * 3.5) / n));
}

TEST(Random, GammaHasMeanAndVarianceEqualToItsShape) {
    for (const double shape : {0.35, 1.0, 4.9}) {
        Random random(5, 0);
        const Moments seen = moments_of([&] { return random.gamma(shape); });
        EXPECT_NEAR(seen.mean, shape, 4.0 * std::sqrt(shape / n)) << shape;
        const double fourth = 3.0 * shape * shape + 6.0 * shape; // central
        EXPECT_NEAR(seen.variance, shape, 4.0 * std::sqrt((fourth - shape * shape) / n)) << shape;
    }
}

TEST(Random, BelowReachesEveryValueAndNoOther) {
    Random random(6, 0);
    std::array<int, 7> seen{};
    for (int i = 0; i < 7000; ++i)
        ++seen.at(random.below(7));
    for (const int count : seen)
        EXPECT_NEAR(count, 1000, 4.0 * std::sqrt(1000.0 * 6.0 / 7.0));
}

} // namespace
} // namespace dropledger::bench_virtual
