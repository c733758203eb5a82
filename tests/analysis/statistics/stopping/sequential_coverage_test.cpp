// How often the interval reported after a sequential stop holds the truth: exact, over all
// outcomes.
//
// `statistics_test --gtest_filter='SequentialCoverage.*'` prints the table of
// analysis/statistics/README.md.
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/stopping/sequential_curve.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include <cmath>
#include <cstdio>
#include <map>
#include <vector>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

// An outcome and in how many orders of hits and others it comes about.
struct Outcome {
    SequentialStop stop;
    double log_ways = 0.0;
    Interval after_stop;
    Interval plain;
};

std::vector<Outcome> outcomes(const SequentialPlan& plan, std::int64_t maximum) {
    const Confidence confidence{0.95};
    std::vector<Outcome> all;
    std::map<std::int64_t, double> ways{{0, 1.0}}; // by hits, of the paths still running
    for (std::int64_t n = 1; n <= maximum; ++n) {
        std::map<std::int64_t, double> next;
        for (const auto& [hits, count] : ways) {
            next[hits] += count;
            next[hits + 1] += count;
        }
        ways.clear();
        for (const auto& [hits, count] : next) {
            const auto accept = plan.acceptance_number(n);
            const auto reject = plan.rejection_number(n);
            const Decision decision = accept && hits <= *accept   ? Decision::accept
                                      : reject && hits >= *reject ? Decision::reject
                                      : n == maximum              ? Decision::undecided
                                                                  : Decision::go_on;
            if (decision == Decision::go_on) {
                ways[hits] = count;
                continue;
            }
            const SequentialStop stop{decision, n, hits, maximum};
            all.push_back({stop, std::log(count), interval_after_stop(plan, stop, confidence),
                           clopper_pearson(hits, n, confidence)});
        }
    }
    return all;
}

struct Coverage {
    double total = 0.0;
    double after_stop = 0.0;
    double plain = 0.0;
};

Coverage coverage(const std::vector<Outcome>& all, double p) {
    Coverage out;
    for (const Outcome& each : all) {
        const double hits = static_cast<double>(each.stop.hits);
        const double others = static_cast<double>(each.stop.entries) - hits;
        const double chance =
            std::exp(each.log_ways + hits * std::log(p) + others * std::log1p(-p));
        out.total += chance;
        const auto holds = [p](Interval interval) {
            return interval.low <= p && p <= interval.high;
        };
        out.after_stop += holds(each.after_stop) ? chance : 0.0;
        out.plain += holds(each.plain) ? chance : 0.0;
    }
    return out;
}

} // namespace

TEST(SequentialCoverage, IsAtLeastAsStatedWhateverTheTruth) {
    const struct {
        TwoPoint points;
        std::int64_t maximum;
    } plans[] = {{{0.01, 0.10, 0.05, 0.10}, 156}, {{0.02, 0.06, 0.05, 0.10}, 300}};
    double least_plain = 1.0;
    for (const auto& [points, maximum] : plans) {
        const auto all = outcomes(*sequential_plan(points), maximum);
        Coverage least{1.0, 1.0, 1.0};
        std::printf("good %.2f bad %.2f maximum %d: share, after stop, plain\n", points.good,
                    points.bad, static_cast<int>(maximum));
        for (int i = 1; i <= 60; ++i) {
            const double p = points.bad * i / 30.0;
            const Coverage here = coverage(all, p);
            EXPECT_NEAR(here.total, 1.0, 1e-9) << p;
            EXPECT_GE(here.after_stop, 0.95 - 1e-9) << p;
            least.after_stop = std::min(least.after_stop, here.after_stop);
            least.plain = std::min(least.plain, here.plain);
            if (i % 10 == 0 || i == 3)
                std::printf("  %.4f  %.4f  %.4f\n", p, here.after_stop, here.plain);
        }
        std::printf("  least   %.4f  %.4f\n", least.after_stop, least.plain);
        least_plain = std::min(least_plain, least.plain);
    }
    // The reason for the ordering: the plain interval of a stopped run promises too much somewhere.
    EXPECT_LT(least_plain, 0.93);
}
