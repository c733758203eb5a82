// How often the interval of "share of all units above the limit" holds the truth, on simulated
// batches whose units vary as a beta distribution. Not a test: prints the table of
// analysis/batch/README.md (some minutes).
#include "analysis/statistics/shares/beta_binomial.hpp"

#include <boost/math/distributions/beta.hpp>
#include <fmt/format.h>

#include <array>
#include <cstdint>
#include <random>
#include <vector>

namespace {

using namespace dropledger;
using namespace dropledger::statistics;

constexpr double limit = 0.05;
constexpr int runs = 400;

struct Case {
    int units;
    std::int64_t drops;
    double mean;
    double theta;
};

std::vector<Group> simulated(const Case& one, std::mt19937_64& random) {
    std::gamma_distribution<> hits(one.mean / one.theta, 1.0);
    std::gamma_distribution<> others((1.0 - one.mean) / one.theta, 1.0);
    std::vector<Group> units;
    for (int i = 0; i < one.units; ++i) {
        const double x = hits(random);
        const double share = x / (x + others(random));
        units.push_back(
            {std::binomial_distribution<std::int64_t>(one.drops, share)(random), one.drops});
    }
    return units;
}

void print_row(const Case& one, std::mt19937_64& random) {
    const boost::math::beta_distribution<> shares(one.mean / one.theta,
                                                  (1.0 - one.mean) / one.theta);
    const double truth = boost::math::cdf(boost::math::complement(shares, limit));
    int held = 0;
    int above = 0;
    int with_interval = 0;
    for (int run = 0; run < runs; ++run) {
        const auto found =
            share_of_units_above(simulated(one, random), Share{limit}, Confidence{0.95});
        if (!found || !found->interval)
            continue;
        ++with_interval;
        held += truth >= found->interval->low && truth <= found->interval->high ? 1 : 0;
        above += truth > found->interval->high ? 1 : 0;
    }
    fmt::print("| {} | {} | {} | {} | {:.3f} % | {:.1f} % | {:.1f} % |\n", one.units, one.drops,
               one.mean, one.theta, 100.0 * truth, 100.0 * held / with_interval,
               100.0 * above / with_interval);
}

} // namespace

int main() {
    constexpr std::array<Case, 8> cases{{{3, 500, 0.02, 0.01},
                                         {5, 500, 0.02, 0.01},
                                         {8, 500, 0.02, 0.005},
                                         {13, 500, 0.02, 0.005},
                                         {13, 500, 0.02, 0.02},
                                         {32, 500, 0.02, 0.002},
                                         {32, 500, 0.02, 0.01},
                                         {80, 500, 0.02, 0.005}}};
    std::mt19937_64 random(20260315);
    fmt::print("| units | drops each | mean share | theta | truth | held | truth above |\n| --- | "
               "--- | --- | --- | --- | --- | --- |\n");
    for (const Case& one : cases)
        print_row(one, random);
}
