#include "analysis/statistics/shares/clustering.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

using namespace dropledger::statistics;

// Exact recursion, recomputed; the first is 520/1024.
TEST(Clustering, HasTheExactChanceOfARun) {
    struct Row {
        RunQuestion question;
        double chance, tolerance;
    };
    for (const Row& row :
         {Row{{10, 0.5, 3}, 520.0 / 1024.0, 1e-12}, Row{{1000, 0.5, 10}, 0.3854497524, 0.5e-10},
          Row{{2000, 0.02, 2}, 0.5435995198, 0.5e-10}, Row{{2000, 0.02, 3}, 0.0155428530, 0.5e-10},
          Row{{2000, 0.02, 4}, 0.000313084, 0.5e-9}, Row{{250, 0.05, 2}, 0.4484520319, 0.5e-10},
          Row{{250, 0.05, 3}, 0.0290384561, 0.5e-10}, Row{{250, 0.05, 4}, 0.0014658385, 0.5e-10}})
        EXPECT_NEAR(run_probability(row.question), row.chance, row.tolerance)
            << row.question.entries << " " << row.question.length;
    EXPECT_NEAR(expected_runs({2000, 0.02, 2}), 0.783616, 0.5e-6);
    EXPECT_EQ(run_probability({5, 0.5, 6}), 0.0);
    EXPECT_EQ(run_probability({5, 1.0, 5}), 1.0);
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

// Zar 2010, example 27.1 (z 5.448 and 0.001 < p < 0.002 seen); more digits recomputed.
TEST(Clustering, ReproducesZarsRayleighExample) {
    const double degrees[] = {45, 55, 81, 96, 110, 117, 132, 154};
    std::vector<double> radians;
    for (const double each : degrees)
        radians.push_back(each * std::numbers::pi / 180.0);
    const auto found = rayleigh_test(radians);
    EXPECT_NEAR(found->z, 5.448, 0.5e-3);
    EXPECT_NEAR(found->z, 5.4478746109, 0.5e-9);
    EXPECT_NEAR(found->mean_length, 0.8252177448, 0.5e-10);
    EXPECT_NEAR(found->mean_direction * 180.0 / std::numbers::pi, 98.98775, 0.5e-5);
    EXPECT_NEAR(found->p, 0.00185164, 0.5e-8);
    EXPECT_FALSE(rayleigh_test({}));
}

// Constructed: runs exactly geometric with share 0.5, then the same with the long runs piled up.
TEST(Clustering, TellsGeometricRunsFromPiledOnes) {
    const std::array<std::int64_t, 10> geometric{512, 256, 128, 64, 32, 16, 8, 4, 2, 2};
    EXPECT_GT(run_length_test(geometric)->p, 0.9);
    const std::array<std::int64_t, 9> piled{600, 100, 20, 10, 10, 10, 10, 10, 100};
    EXPECT_LT(run_length_test(piled)->p, 1e-6);
    const std::array<std::int64_t, 2> few{9, 1};
    EXPECT_FALSE(run_length_test(few));
    const std::array<std::int64_t, 1> single{90};
    EXPECT_FALSE(run_length_test(single));
}
