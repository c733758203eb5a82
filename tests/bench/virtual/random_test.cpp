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

// Written to be quick, they must stay what they were: a scenario repeats to the last bit.
TEST(PlainFunctions, AreTheirSeriesToTheLastBit) {
    const auto slow_log = [](double x) {
        int exponent = 0;
        double mantissa = std::frexp(x, &exponent);
        if (mantissa < 0.707106781186547524401) {
            mantissa *= 2.0;
            --exponent;
        }
        const double ratio = (mantissa - 1.0) / (mantissa + 1.0);
        double series = 0.0;
        for (int power = 23; power >= 1; power -= 2)
            series = series * (ratio * ratio) + 1.0 / power;
        return 2.0 * ratio * series + exponent * 0.693147180559945309417;
    };
    const auto slow_exp = [](double x) {
        constexpr double ln2 = 0.693147180559945309417;
        const double whole = std::floor(x / ln2 + 0.5);
        const double rest = x - whole * ln2;
        double series = 1.0;
        for (int power = 16; power >= 1; --power)
            series = 1.0 + series * rest / power;
        return std::ldexp(series, static_cast<int>(std::fmin(std::fmax(whole, -2000.0), 2000.0)));
    };
    Random random(3, 9);
    for (int i = 0; i < n; ++i) {
        const double share = 1.0 - random.uniform();
        ASSERT_EQ(plain_log(share), slow_log(share));
        ASSERT_EQ(plain_log(share * 1e-310), slow_log(share * 1e-310));
        for (const double reach : {1.0, 30.0, 900.0}) {
            const double x = reach * (2.0 * share - 1.0);
            ASSERT_EQ(plain_exp(x), slow_exp(x));
            ASSERT_EQ(plain_floor(x), std::floor(x));
        }
        ASSERT_EQ(plain_floor(share * 1e17), std::floor(share * 1e17));
    }
    for (const double whole : {-2.0, -1.0, 0.0, 1.0, 7.0})
        EXPECT_EQ(plain_floor(whole), whole);
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
