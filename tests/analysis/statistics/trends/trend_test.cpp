// Constructed.
#include "analysis/statistics/trends/trend.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger::statistics;

namespace {

std::vector<double> series(double memory, double slope, int n, std::uint64_t seed) {
    std::mt19937_64 random{seed};
    std::normal_distribution<double> normal;
    std::vector<double> values;
    double at = normal(random);
    for (int i = 0; i < n; ++i) {
        at = memory * at + std::sqrt(1.0 - memory * memory) * normal(random);
        values.push_back(at + slope * i);
    }
    return values;
}

} // namespace

TEST(SlopeLaw, SeldomSeesASlopeInWanderingValues) {
    constexpr int many = 1000;
    for (const double memory : {0.0, 0.3, 0.6}) // as block means of a run's errors correlate
        for (const int n : {12, 40}) {
            int alarms = 0;
            for (int i = 0; i < many; ++i)
                alarms += SlopeLaw::of(series(memory, 0.0, n, static_cast<std::uint64_t>(i) + 1))
                              ->p_value() <= 0.05;
            EXPECT_LE(alarms, 50 + 21) << memory << ' ' << n; // three standard errors
        }
}

TEST(SlopeLaw, FindsASlopeThatIsThere) {
    EXPECT_LT(SlopeLaw::of(series(0.0, 0.1, 60, 2))->p_value(), 1e-6);
    EXPECT_GT(SlopeLaw::of(series(0.0, 0.1, 60, 2))->standard_error(), 0.0);
}

TEST(SlopeLaw, IsUndefinedOnAStraightLineAndOfFewValues) {
    EXPECT_FALSE(SlopeLaw::of(std::vector<double>{1, 2, 3, 4, 5, 6}));
    EXPECT_FALSE(SlopeLaw::of(std::vector<double>{1, 5, 3, 4}));
}
