#include "analysis/statistics/shares/more_needed.hpp"

#include "analysis/statistics/shares/proportion.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

const Confidence confidence{0.95};
constexpr std::int64_t cap = 1'000'000;

bool straddles(Interval interval, double limit) {
    return interval.low <= limit && limit <= interval.high;
}

class Unit {
public:
    explicit Unit(std::uint64_t seed) : random_(seed) {}
    double between(double low, double high) {
        return std::uniform_real_distribution<double>{low, high}(random_);
    }
    double normal() { return std::normal_distribution<double>{}(random_); }
    std::int64_t hits(std::int64_t n, double p) {
        return std::binomial_distribution<std::int64_t>{n, p}(random_);
    }

private:
    std::mt19937_64 random_;
};

} // namespace

// Of units whose share can be anything up to 15 %, undecided after 150 drops: nine in ten are
// decided by the number given. 67 to 77 % once.
TEST(MoreNeeded, DecidesNineInTenUnits) {
    Unit unit{11};
    int asked = 0;
    int decided = 0;
    while (asked < 600) {
        const double p = unit.between(0.0, 0.15);
        const std::int64_t x = unit.hits(150, p);
        const auto more = more_needed(ShareSeen{x, 150}, Share{0.05}, confidence, cap);
        if (!more || *more == 0)
            continue;
        ++asked;
        const std::int64_t all = 150 + *more;
        decided +=
            straddles(clopper_pearson(x + unit.hits(*more, p), all, confidence), 0.05) ? 0 : 1;
    }
    EXPECT_GE(decided, 0.87 * asked);
    EXPECT_LE(decided, 0.95 * asked);
}

TEST(MoreNeeded, DecidesNineInTenMeans) {
    Unit unit{12};
    int asked = 0;
    int decided = 0;
    while (asked < 2000) {
        const double mean = unit.between(-1.0, 1.0);
        const double seen = mean + 0.1 * unit.normal(); // of 100 values that scatter by 1
        const Estimate estimate{.value = seen,
                                .interval = Interval{seen - 0.196, seen + 0.196},
                                .confidence = confidence};
        const auto more = more_needed(estimate, 100, 0.2, cap);
        if (!more || *more == 0)
            continue;
        ++asked;
        const auto m = static_cast<double>(*more);
        const double later = (100.0 * seen + m * mean + std::sqrt(m) * unit.normal()) / (100.0 + m);
        const double half = 1.96 / std::sqrt(100.0 + m);
        decided += straddles({later - half, later + half}, 0.2) ? 0 : 1;
    }
    EXPECT_GE(decided, 0.87 * asked);
    EXPECT_LE(decided, 0.93 * asked);
}

TEST(MoreNeeded, IsNoughtWhereTheIntervalIsClearAlready) {
    EXPECT_EQ(more_needed(ShareSeen{0, 72}, Share{0.05}, confidence, cap), 0);
    EXPECT_EQ(more_needed(ShareSeen{90, 100}, Share{0.05}, confidence, cap), 0);
    const Estimate c{.value = 0.2, .interval = Interval{0.1, 0.3}, .confidence = confidence};
    EXPECT_EQ(more_needed(c, 100, 0.31, cap), 0);
}

TEST(MoreNeeded, GrowsTowardsTheLimitAndWithInflation) {
    const auto far = more_needed(ShareSeen{0, 40}, Share{0.05}, confidence, cap);
    const auto near = more_needed(ShareSeen{1, 40}, Share{0.05}, confidence, cap);
    const auto inflated = more_needed(ShareSeen{0, 40, 2.0}, Share{0.05}, confidence, cap);
    ASSERT_TRUE(far && near && inflated);
    EXPECT_GE(*far, 32); // a clean run needs so many at least
    EXPECT_GT(*near, *far);
    EXPECT_GT(*inflated, *far);
}

TEST(MoreNeeded, GivesNoNumberBeyondTheCapOrFromNothing) {
    EXPECT_FALSE(more_needed(ShareSeen{5, 100}, Share{0.05}, confidence, 1000));
    EXPECT_FALSE(more_needed(ShareSeen{0, 0}, Share{0.05}, confidence, cap));
    Estimate c{.value = 0.2, .interval = Interval{0.1, 0.3}, .confidence = confidence};
    EXPECT_FALSE(more_needed(c, 100, 0.2, 1000));
    c.interval = std::nullopt;
    EXPECT_FALSE(more_needed(c, 100, 0.25, cap));
}
