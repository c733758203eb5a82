#include "analysis/statistics/basics/moments.hpp"

#include "tests/support/published.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

using namespace dropledger;
using namespace dropledger::statistics;
using dropledger::testing::published_column;

namespace {

struct Certified {
    std::string key;
    double mean, sd;
    double digits; // correct digits of sd asked for; the stored data limit the last ones
};

double correct_digits(double seen, double certified) {
    return seen == certified ? 15.0 : -std::log10(std::abs(seen - certified) / std::abs(certified));
}

// NumAcc2 … 4: c + 0.2, then 500 pairs of c + 0.1 and c + 0.3.
std::vector<double> numerical_accuracy(double c) {
    std::vector<double> values{c + 0.2};
    for (int pair = 0; pair < 500; ++pair) {
        values.push_back(c + 0.1);
        values.push_back(c + 0.3);
    }
    return values;
}

std::vector<double> data_of(const std::string& key) {
    if (key == "NumAcc1")
        return {10000001, 10000003, 10000002};
    if (key == "NumAcc2")
        return numerical_accuracy(1.0);
    if (key == "NumAcc3")
        return numerical_accuracy(1e6);
    if (key == "NumAcc4")
        return numerical_accuracy(1e7);
    return published_column("nist-" + key);
}

} // namespace

// NIST StRD, univariate; certified values seen in the file headers, recomputed with exact
// fractions.
TEST(Moments, ReachTheCertifiedDigitsOfTheReferenceDataSets) {
    const Certified sets[] = {
        {"lew", -177.435000000000, 277.332168044316, 14},
        {"lottery", 518.958715596330, 291.699727470969, 14},
        {"mavro", 2.00185600000000, 0.000429123454003053, 12},
        {"michelso", 299.852400000000, 0.0790105478190518, 13},
        {"NumAcc1", 10000002, 1, 14},
        {"NumAcc2", 1.2, 0.1, 13},
        {"NumAcc3", 1000000.2, 0.1, 9},
        {"NumAcc4", 10000000.2, 0.1, 8},
    };
    for (const Certified& set : sets) {
        const auto values = data_of(set.key);
        const Moments stream = moments(values);
        EXPECT_GE(correct_digits(*mean(values), set.mean), 14) << set.key;
        EXPECT_GE(correct_digits(*stream.mean(), set.mean), 13) << set.key;
        EXPECT_GE(correct_digits(*sample_sd(values), set.sd), set.digits) << set.key;
        EXPECT_GE(correct_digits(*stream.sample_sd(), set.sd), set.digits - 1.5) << set.key;
    }
}

TEST(Moments, ForgetAnOffsetCommonToAllValues) {
    std::vector<double> near;
    std::vector<double> far;
    for (int i = 0; i < 500; ++i) {
        near.push_back((i * 7919) % 1000);
        far.push_back(near.back() + 1e9);
    }
    EXPECT_NEAR(*sample_sd(far), *sample_sd(near), 1e-9);
}

TEST(Moments, AreUndefinedForTooFewValues) {
    EXPECT_FALSE(mean({}));
    EXPECT_FALSE(Moments{}.mean());
    const double one[] = {3.0};
    EXPECT_FALSE(sample_variance(one));
    EXPECT_FALSE(moments(one).sample_sd());
    const double equal[] = {3.3, 3.3, 3.3};
    EXPECT_EQ(*sample_variance(equal), 0.0);
}
