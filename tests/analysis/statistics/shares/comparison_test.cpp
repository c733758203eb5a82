#include "analysis/statistics/shares/comparison.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::statistics;

// Fisher 1935, the lady tasting tea: 3 of 4 right, two-sided 34/70; from memory, exact by hand.
TEST(Comparison, ReproducesTheTeaTasting) {
    EXPECT_NEAR(*fisher_exact_p({3, 4}, {1, 4}), 34.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({4, 4}, {0, 4}), 2.0 / 70.0, 1e-12);
    EXPECT_NEAR(*fisher_exact_p({0, 10}, {0, 99}), 1.0, 1e-12);
    EXPECT_FALSE(fisher_exact_p({0, 0}, {3, 9}));
}

// By definition, over every table of small groups: binomial coefficients as whole numbers.
TEST(Comparison, AddsUpTheTablesNoLikelierThanTheOneSeen) {
    const auto choose = [](std::int64_t n, std::int64_t k) {
        std::int64_t ways = k < 0 || k > n ? 0 : 1;
        for (std::int64_t i = 1; ways > 0 && i <= k; ++i)
            ways = ways * (n - k + i) / i;
        return ways;
    };
    int tables = 0;
    for (std::int64_t n1 = 1; n1 <= 9; ++n1)
        for (std::int64_t n2 = 1; n2 <= 9; ++n2)
            for (std::int64_t x1 = 0; x1 <= n1; ++x1)
                for (std::int64_t x2 = 0; x2 <= n2; ++x2, ++tables) {
                    const std::int64_t seen = choose(n1, x1) * choose(n2, x2);
                    std::int64_t no_likelier = 0;
                    for (std::int64_t k = 0; k <= x1 + x2; ++k) {
                        const std::int64_t ways = choose(n1, k) * choose(n2, x1 + x2 - k);
                        no_likelier += ways <= seen ? ways : 0;
                    }
                    EXPECT_NEAR(*fisher_exact_p({x1, n1}, {x2, n2}),
                                static_cast<double>(no_likelier) /
                                    static_cast<double>(choose(n1 + n2, x1 + x2)),
                                1e-12)
                        << x1 << '/' << n1 << ' ' << x2 << '/' << n2;
                }
    EXPECT_EQ(tables, 54 * 54);
}

TEST(Comparison, SeesLessEvidenceInClusteredEntries) {
    const double p = *fisher_exact_p({45, 500}, {31, 1500});
    EXPECT_LT(p, 1e-6);
    EXPECT_GT(*fisher_exact_p({45, 500}, {31, 1500}, 10.0), p);
    EXPECT_EQ(*fisher_exact_p({45, 500}, {31, 1500}, 0.5), p);
}
