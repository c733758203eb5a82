#include "analysis/statistics/bootstrap.hpp"

#include "analysis/statistics/moments.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>
#include <vector>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

class Source {
public:
    explicit Source(std::uint64_t seed) : random_(seed) {}
    double uniform() { return (static_cast<double>(random_() >> 11U) + 0.5) * 0x1p-53; }
    double normal() {
        return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::numbers::pi * uniform());
    }

private:
    std::mt19937_64 random_;
};

// Autoregressive sequence with standard deviation 1.
std::vector<double> chained(std::size_t n, double memory, std::uint64_t seed) {
    Source source{seed};
    std::vector<double> values{source.normal()};
    while (values.size() < n)
        values.push_back(memory * values.back() +
                         std::sqrt(1.0 - memory * memory) * source.normal());
    return values;
}

std::optional<double> centre(std::span<const double> values) {
    return mean(values);
}

double covered(double memory, std::optional<std::size_t> length) {
    int hits = 0;
    constexpr int runs = 80;
    for (int run = 0; run < runs; ++run) {
        const auto values = chained(300, memory, 1000 + static_cast<std::uint64_t>(run));
        const auto found =
            block_bootstrap(values, centre, {.seed = 7, .replicates = 120, .block_length = length},
                            Confidence{0.95});
        hits += found->interval->low <= 0.0 && 0.0 <= found->interval->high ? 1 : 0;
    }
    return hits / static_cast<double>(runs);
}

} // namespace

TEST(Bootstrap, IsTheSameForTheSameSeed) {
    const auto values = chained(300, 0.5, 3);
    const auto once = block_bootstrap(values, sample_sd, {.seed = 11}, Confidence{0.95});
    const auto again = block_bootstrap(values, sample_sd, {.seed = 11}, Confidence{0.95});
    const auto other = block_bootstrap(values, sample_sd, {.seed = 12}, Confidence{0.95});
    EXPECT_EQ(once->interval->low, again->interval->low);
    EXPECT_NE(once->interval->low, other->interval->low);
    EXPECT_LT(once->interval->low, once->value);
    EXPECT_GT(once->interval->high, once->value);
}

TEST(Bootstrap, TakesLongerBlocksWhereTheValuesHangTogether) {
    EXPECT_LE(block_length(chained(2000, 0.0, 5)), 6U);
    EXPECT_GE(block_length(chained(2000, 0.8, 5)), 12U);
    EXPECT_EQ(block_length(std::vector<double>(50, 1.0)), 1U);
    EXPECT_EQ(block_length(std::vector<double>{1.0, 2.0}), 1U);
}

// The reason the blocks exist: values drawn one by one pretend to a certainty that is not there.
TEST(Bootstrap, CoversDependentSequencesWhereSingleValuesFail) {
    EXPECT_GE(covered(0.6, std::nullopt), 0.88);
    EXPECT_LT(covered(0.6, 1), 0.80);
}

TEST(Bootstrap, IsUndefinedForTooLittle) {
    const std::vector<double> three{1, 2, 3};
    EXPECT_FALSE(block_bootstrap(three, centre, {}, Confidence{0.95}));
    const auto never = [](std::span<const double>) { return std::optional<double>{}; };
    EXPECT_FALSE(block_bootstrap(chained(50, 0.0, 1), never, {}, Confidence{0.95}));
}
