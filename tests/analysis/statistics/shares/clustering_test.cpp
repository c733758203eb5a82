#include "analysis/statistics/shares/clustering.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger::statistics;

// Recomputed.
TEST(Clustering, HasTheExpectedNumberOfRuns) {
    EXPECT_NEAR(expected_runs({2000, 0.02, 2}), 0.783616, 0.5e-6);
    EXPECT_EQ(expected_runs({5, 0.5, 6}), 0.0);
    EXPECT_EQ(expected_runs({5, 1.0, 5}), 1.0);
}

// Naus 1982; the London case of cyclist deaths and a second example; recomputed, simulated 0.0376
// and 0.48565.
TEST(Clustering, HasNausScanApproximation) {
    EXPECT_NEAR(*scan_probability({6, 0.6, 208}), 0.03902311, 0.5e-8);
    EXPECT_NEAR(*scan_probability({6, 1.0, 260}), 0.48558665, 0.5e-8);
    EXPECT_FALSE(scan_probability({6, 1.0, 1.5}));
    EXPECT_NEAR(*scan_probability({1, 0.5, 4}), 1.0 - std::exp(-2.0), 1e-12);
    EXPECT_LT(*scan_probability({6, 0.6, 20}), *scan_probability({6, 0.6, 208}));
    EXPECT_LT(*scan_probability({7, 0.6, 208}), *scan_probability({6, 0.6, 208}));
}
