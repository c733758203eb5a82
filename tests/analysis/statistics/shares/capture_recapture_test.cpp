#include "analysis/statistics/shares/capture_recapture.hpp"

#include "analysis/base/result.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <string>
#include <utility>

using namespace dropledger;
using namespace dropledger::statistics;

// Published results seen in public copies; source books named.
TEST(CaptureRecapture, ReproducesPublishedEstimates) {
    struct Row {
        const char* source;
        TwoObservers seen;
        double chapman, error, low, high; // normal limits
        double tolerance;
    };
    const Row rows[] = {
        {"Krebs 1989, box 2.1", {167, 948, 421}, 2382.798, 129.1, 2129.9, 2635.7, 0.5e-1},
        {"Seber 2002, tables 3.7, 3.8", {7, 500, 149}, 9392.75, 3022.184, 3469.4, 15316.1, 0.6e-1},
        {"Seber 2002", {21, 1000, 243}, 11101.000, 2183.701, 6821.0, 15381.0, 0.6e-1},
    };
    for (const Row& row : rows) {
        const auto found = recapture(row.seen, Confidence{0.95});
        ASSERT_TRUE(found) << row.source;
        EXPECT_NEAR(found->seeds.value, row.chapman, 0.5e-3) << row.source;
        EXPECT_NEAR(found->standard_error, row.error, 0.5e-1) << row.source;
        EXPECT_NEAR(found->normal_limits.low, row.low, row.tolerance) << row.source;
        EXPECT_NEAR(found->normal_limits.high, row.high, row.tolerance) << row.source;
    }
    EXPECT_NEAR(*recapture({167, 948, 421}, Confidence{0.95})->petersen, 2389.868, 0.5e-3);
}

// Limits recomputed with scipy.stats.hypergeom and nchypergeom_fisher.
TEST(CaptureRecapture, HasTheLimitsOfTheLawOfMatchedPairs) {
    struct Row {
        TwoObservers seen;
        double odds, low, high;
    };
    const Row rows[] = {
        {{5, 15, 10}, 1.0, 21, 73},       {{5, 15, 10}, 4.0, 21, 230},
        {{90, 95, 94}, 1.0, 99, 101},     {{90, 95, 94}, 4.0, 99, 104},
        {{1, 10, 10}, 1.0, 27, 3959},     {{167, 421, 948}, 1.0, 2154, 2682},
        {{492, 501, 492}, 1.0, 501, 501}, {{100, 100, 100}, 1.0, 100, 100},
    };
    for (const Row& row : rows) {
        const auto found = recapture(row.seen, Confidence{0.95}, row.odds);
        EXPECT_EQ(found->seeds.interval->low, row.low) << row.seen.first;
        EXPECT_EQ(found->seeds.interval->high, row.high) << row.seen.first;
    }
}

// Counts beyond what anybody drops: limits that are near the normal ones, and soon there.
TEST(CaptureRecapture, BearsHugeCounts) {
    const auto found = recapture({900'000'000, 1'000'000'000, 950'000'000}, Confidence{0.95});
    EXPECT_NEAR(found->seeds.interval->low, found->normal_limits.low, 5.0);
    EXPECT_NEAR(found->seeds.interval->high, found->normal_limits.high, 5.0);
    const auto few = recapture({1, 1'000'000'000'000, 1'000'000'000'000}, Confidence{0.95});
    EXPECT_GT(few->seeds.interval->high, 1e24);
}

TEST(CaptureRecapture, ReproducesATextbookExample) {
    const auto found = recapture({5, 10, 15}, Confidence{0.95});
    EXPECT_NEAR(found->seeds.value, 28.3333, 0.5e-4);
    EXPECT_NEAR(found->standard_error * found->standard_error, 34.9206, 0.5e-4);
    EXPECT_NEAR(*found->petersen, 30.0, 1e-12);
    EXPECT_NEAR(found->first_efficiency->value, 5.0 / 15.0, 1e-12);
    EXPECT_NEAR(found->second_efficiency->value, 0.5, 1e-12);
}

TEST(CaptureRecapture, HoldsTheEdges) {
    const auto perfect = recapture({100, 100, 100}, Confidence{0.95});
    EXPECT_EQ(perfect->seeds.value, 100.0);
    EXPECT_EQ(perfect->standard_error, 0.0);
    EXPECT_EQ(perfect->first_efficiency->interval->high, 1.0);
    const auto blind = recapture({0, 50, 0}, Confidence{0.95});
    EXPECT_FALSE(blind->petersen);
    EXPECT_FALSE(blind->seeds.interval);
    EXPECT_EQ(blind->seeds.no_interval, NoInterval::no_pair);
    EXPECT_FALSE(blind->first_efficiency);
    EXPECT_EQ(blind->second_efficiency->value, 0.0);
    EXPECT_FALSE(recapture({0, 0, 0}, Confidence{0.95}));
    EXPECT_THROW(static_cast<void>(recapture({6, 5, 9}, Confidence{0.95})), BrokenInvariant);
}

namespace {

struct Gates {
    double first = 0.95;
    double second = 0.93;
    double odds = 1.0; // of joint blindness
};

// Chance that both overlook a seed, so that the 2 × 2 table has the odds ratio and these margins.
double both_blind(const Gates& gates) {
    const double a = 1.0 - gates.first;
    const double b = 1.0 - gates.second;
    double low = 0.0;
    double high = std::min(a, b);
    for (int i = 0; i < 60; ++i) {
        const double both = 0.5 * (low + high);
        const double seen = 1.0 - a - b + both;
        (both * seen < gates.odds * (a - both) * (b - both) ? low : high) = both;
    }
    return 0.5 * (low + high);
}

// Of so many falls of 1,000 seeds, in how many the interval holds that holds least often: of either
// efficiency, of the seeds.
int held(const Gates& gates, double stated_odds, int falls) {
    std::mt19937_64 random{11};
    const double neither = both_blind(gates);
    const double a = 1.0 - gates.first;
    const double b = 1.0 - gates.second;
    std::array<int, 3> all{};
    for (int fall = 0; fall < falls; ++fall) {
        TwoObservers seen;
        for (int seed = 0; seed < 1000; ++seed) {
            const double u = std::uniform_real_distribution<double>{}(random);
            const bool first = u >= a; // 0 … a: it overlooks
            const bool second = !(u < neither || (u >= a && u < a + b - neither));
            seen.first += first;
            seen.second += second;
            seen.both += first && second;
        }
        const auto found = *recapture(seen, Confidence{0.95}, stated_odds);
        const auto holds = [](const Estimate& estimate, double truth) {
            return estimate.interval->low <= truth && truth <= estimate.interval->high;
        };
        all[0] += holds(*found.first_efficiency, gates.first);
        all[1] += holds(*found.second_efficiency, gates.second);
        all[2] += holds(found.seeds, 1000.0);
    }
    return *std::min_element(all.begin(), all.end());
}

} // namespace

// 25 November: two gates that overlook the same seeds were held to their word: the intervals held
// in 56 to 70 %. Nothing in the counts can show it; a stated odds ratio covers it.
TEST(CaptureRecapture, HoldsWhereGatesOverlookTheSameSeedsIfThatIsStated) {
    constexpr int falls = 300;
    const Gates blind{.odds = 6.0};
    EXPECT_LT(held(blind, 1.0, falls), 0.9 * falls);
    EXPECT_GE(held(blind, 6.0, falls), 0.93 * falls);
    EXPECT_GE(held({.odds = 1.0}, 6.0, falls), 0.93 * falls);
    EXPECT_GE(held({.odds = 2.5}, 6.0, falls), 0.93 * falls);
}

namespace {

// Chance, over all that two independent gates may see of `fell` seeds, that the limits hold them;
// where no pair was seen nothing is claimed.
double coverage(int fell, double first, double second) {
    const auto binomial = [](int k, int n, double share) {
        return std::exp(std::lgamma(n + 1.0) - std::lgamma(k + 1.0) - std::lgamma(n - k + 1.0)) *
               std::pow(share, k) * std::pow(1.0 - share, n - k);
    };
    double held = 0.0;
    double claimed = 0.0;
    for (int n1 = 0; n1 <= fell; ++n1)
        for (int k = 1; k <= n1; ++k)
            for (int only = 0; only <= fell - n1; ++only) {
                const double chance = binomial(n1, fell, first) * binomial(k, n1, second) *
                                      binomial(only, fell - n1, second);
                if (chance < 1e-12)
                    continue;
                const auto limits = *fallen_limits({k, n1, k + only}, 0.025, 1.0);
                claimed += chance;
                held += limits.low <= fell && fell <= limits.high ? chance : 0.0;
            }
    return held / claimed;
}

} // namespace

// 26 November: with 492 pairs of 501 and 492 the upper limit was 5.5 million seeds.
TEST(CaptureRecapture, HoldsTheSeedsWhereAGateOverlooksHardlyAny) {
    for (const int fell : {20, 60})
        for (const auto& [first, second] : {std::pair{1.0, 1.0},
                                            {1.0, 0.98},
                                            {0.99, 0.995},
                                            {0.97, 0.999},
                                            {0.95, 0.93},
                                            {0.9, 0.6},
                                            {0.5, 0.5},
                                            {0.98, 0.2}})
            EXPECT_GE(coverage(fell, first, second), 0.95) << fell << ' ' << first << ' ' << second;
}

TEST(CaptureRecapture, SaysWhatItAssumes) {
    EXPECT_NE(recapture({90, 95, 94}, Confidence{0.95})->assumption.find("independently"),
              std::string::npos);
    const auto stated = recapture({90, 95, 94}, Confidence{0.95}, 4.0);
    EXPECT_NE(stated->assumption.find("4 times"), std::string::npos);
    EXPECT_NE(stated->first_efficiency->method.find("odds 4"), std::string::npos);
    EXPECT_THROW(static_cast<void>(recapture({90, 95, 94}, Confidence{0.95}, 0.5)),
                 BrokenInvariant);
}
