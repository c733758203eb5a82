// NIST StRD univariate sets (public domain, certified values seen in the file headers) where they
// are whole numbers once scaled; the rest constructed.
#include "analysis/measures/block_moments.hpp"
#include "tests/support/published.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace dropledger;
using namespace dropledger::measures;

namespace {

struct Certified {
    std::string key;
    double scale, mean, sd;
};

BlockMoments moments_of(const std::vector<double>& values, double scale, std::int64_t origin = 0) {
    BlockMoments moments{origin};
    for (const double value : values)
        moments.add(std::llround(value * scale));
    return moments;
}

void expect_digits(double seen, double certified, double digits) {
    EXPECT_NEAR(seen, certified, std::abs(certified) * std::pow(10.0, -digits));
}

} // namespace

TEST(BlockMoments, ReproducesTheCertifiedSets) {
    for (const Certified& set :
         std::vector<Certified>{{"lew", 1, -177.435000000000, 277.332168044316},
                                {"lottery", 1, 518.958715596330, 291.699727470969},
                                {"mavro", 1e5, 2.00185600000000, 0.000429123454003053},
                                {"michelso", 1e2, 299.852400000000, 0.0790105478190518}}) {
        const BlockMoments moments =
            moments_of(dropledger::testing::published_column("nist-" + set.key), set.scale);
        expect_digits(*moments.mean() / set.scale, set.mean, 14);
        expect_digits(*moments.sample_sd() / set.scale, set.sd, 14);
    }
}

TEST(BlockMoments, KeepsEveryDigitFarFromZero) {
    for (const double c : {1.0, 1'000'000.0, 10'000'000.0, 1e12}) {
        std::vector<double> tenths{10 * c + 2};
        for (int pair = 0; pair < 500; ++pair) {
            tenths.push_back(10 * c + 1);
            tenths.push_back(10 * c + 3);
        }
        EXPECT_NEAR(*moments_of(tenths, 1).sample_sd() / 10.0, 0.1, 1e-15); // NumAcc2 … 4
    }
    expect_digits(*moments_of({10000001, 10000003, 10000002}, 1).sample_sd(), 1.0, 15); // NumAcc1
}

TEST(BlockMoments, HasNoSpreadOfOneValue) {
    BlockMoments moments;
    EXPECT_FALSE(moments.mean());
    EXPECT_FALSE(moments.mean_estimate(Confidence{0.95}));
    moments.add(5);
    EXPECT_EQ(moments.mean(), 5.0);
    EXPECT_FALSE(moments.sample_sd());
    EXPECT_FALSE(moments.sd_estimate(Confidence{0.95}));
    EXPECT_FALSE(moments.mean_estimate(Confidence{0.95})->interval);
}

TEST(BlockMoments, DoesNotDependOnItsOrigin) {
    std::mt19937 random{4};
    BlockMoments near{180'000};
    BlockMoments far{0};
    for (int i = 0; i < 1000; ++i) {
        const auto value = static_cast<std::int64_t>(170'000 + random() % 20'000);
        near.add(value);
        far.add(value);
    }
    EXPECT_EQ(near.sample_variance(), far.sample_variance());
    EXPECT_NEAR(near.sd_estimate(Confidence{0.95})->interval->low,
                far.sd_estimate(Confidence{0.95})->interval->low, 1e-3);
}

TEST(BlockMoments, WidensWhereNeighboursHangTogether) {
    std::mt19937 random{5};
    BlockMoments steady;
    BlockMoments drifting;
    for (int i = 0; i < 4000; ++i) {
        const auto value = static_cast<std::int64_t>(random() % 1000);
        steady.add(value);
        drifting.add(value + (i / 200 % 2) * 1000);
    }
    const auto width = [](const BlockMoments& moments) {
        const auto interval = *moments.mean_estimate(Confidence{0.95})->interval;
        return (interval.high - interval.low) / *moments.sample_sd();
    };
    EXPECT_GT(width(drifting), 2.0 * width(steady));
}
