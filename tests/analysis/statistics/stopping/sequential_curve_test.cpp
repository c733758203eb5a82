#include "analysis/statistics/stopping/sequential_curve.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>

using namespace dropledger;
using namespace dropledger::statistics;

namespace {

const SequentialPlan nist = *sequential_plan({0.01, 0.10, 0.05, 0.10});
const SequentialPlan montgomery = *sequential_plan({0.01, 0.06, 0.05, 0.10});
const SequentialPlan wide = *sequential_plan({0.01, 0.10, 0.05, 0.20});

struct Exact {
    const SequentialPlan* plan;
    double p, accept, mean;
};

SequentialStop stop_of(const SequentialTest& test, std::int64_t maximum) {
    return {test.decision(), test.entries(), test.hits(), maximum};
}

} // namespace

// Recomputed outside this project by the same recursion in another language.
TEST(SequentialCurve, HasTheExactChancesAndMeans) {
    const Exact rows[] = {
        {&nist, 0.0, 1.0, 24.0},
        {&nist, 0.01, 0.977953, 30.2127},
        {&nist, 0.02, 0.899469, 35.6669},
        {&nist, 0.03, 0.768691, 38.7664},
        {&nist, 0.05, 0.468859, 37.1231},
        {&nist, 0.10, 0.099579, 22.3692},
        {&nist, 1.0, 0.0, 2.0},
        {&montgomery, 0.01, 0.971418, 63.5835},
        {&montgomery, 0.06, 0.098921, 50.5081},
        {&wide, 0.01, 0.977778, 21.0964},
        {&wide, 0.10, 0.193935, 18.6040},
    };
    for (const Exact& row : rows) {
        const auto point = operating_point(*row.plan, Share{row.p}, std::nullopt);
        EXPECT_NEAR(point.accept, row.accept, 0.5e-6) << row.p;
        EXPECT_NEAR(point.mean_entries, row.mean, 0.5e-4) << row.p;
        EXPECT_NEAR(point.accept + point.reject, 1.0, 1e-12) << row.p;
    }
}

TEST(SequentialCurve, AgreesWithSimulatedRuns) {
    std::mt19937_64 random{99};
    constexpr std::int64_t maximum = 60;
    constexpr int runs = 20000;
    std::map<Decision, double> seen;
    double entries = 0.0;
    for (int run = 0; run < runs; ++run) {
        SequentialTest test{nist, maximum};
        while (test.decision() == Decision::go_on)
            test.step(static_cast<double>(random() >> 11U) * 0x1p-53 < 0.04);
        seen[test.decision()] += 1.0 / runs;
        entries += static_cast<double>(test.entries()) / runs;
    }
    const auto point = operating_point(nist, Share{0.04}, maximum);
    EXPECT_NEAR(seen[Decision::accept], point.accept, 0.015);
    EXPECT_NEAR(seen[Decision::reject], point.reject, 0.015);
    EXPECT_NEAR(seen[Decision::undecided], point.undecided, 0.015);
    EXPECT_NEAR(entries, point.mean_entries, 0.6);
    EXPECT_NEAR(point.accept + point.reject + point.undecided, 1.0, 1e-12);
    EXPECT_GT(point.undecided, 0.05);
}

TEST(SequentialCurve, FallsFromOneAndKeepsBothRisks) {
    const auto curve = operating_curve(nist, std::nullopt, {Share{0.033}});
    ASSERT_TRUE(curve);
    EXPECT_EQ(curve->front().accept, 1.0);
    for (const double p : {0.0, 0.01, nist.slope, 0.033, 0.10, 0.20})
        EXPECT_EQ(std::count_if(curve->begin(), curve->end(),
                                [&](const OperatingPoint& point) { return point.p == p; }),
                  1)
            << p;
    for (std::size_t i = 1; i < curve->size(); ++i) {
        EXPECT_LT((*curve)[i - 1].p, (*curve)[i].p);
        EXPECT_GE((*curve)[i - 1].accept, (*curve)[i].accept);
    }
    const auto close = sequential_plan({0.04, 0.0401, 0.05, 0.10});
    EXPECT_FALSE(operating_curve(*close, std::nullopt, {}));
}

TEST(SequentialCurve, IntervalAfterAStopIsOrderedLikeTheOutcomes) {
    const SequentialStop ladder[] = {
        {Decision::accept, 24, 0, 120},     {Decision::accept, 49, 1, 120},
        {Decision::accept, 100, 3, 120},    {Decision::undecided, 120, 4, 120},
        {Decision::undecided, 120, 5, 120}, {Decision::reject, 96, 6, 120},
        {Decision::reject, 30, 3, 120},     {Decision::reject, 2, 2, 120}};
    Interval before{-1.0, -1.0};
    for (const SequentialStop& stop : ladder) {
        const Interval here = interval_after_stop(nist, stop, Confidence{0.95});
        EXPECT_LE(before.low, here.low);
        EXPECT_LE(before.high, here.high);
        EXPECT_LT(here.low, here.high);
        before = here;
    }
    // Never stopped before: 24 clean entries say what 24 clean entries always say.
    EXPECT_NEAR(interval_after_stop(nist, ladder[0], Confidence{0.95}).high,
                1.0 - std::pow(0.025, 1.0 / 24.0), 1e-9);
    EXPECT_EQ(interval_after_stop(nist, ladder[7], Confidence{0.95}).high, 1.0);
    SequentialTest fresh{nist, 9};
    EXPECT_THROW(static_cast<void>(interval_after_stop(nist, stop_of(fresh, 9), Confidence{0.95})),
                 BrokenInvariant);
}
