#include "analysis/batch/runs/pooled.hpp"

#include "analysis/batch/chain/serials.hpp"
#include "analysis/batch/runs/standing.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "small_batch.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <random>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

const verdict::Limit misses{measures::Quantity::miss_index, 0.05};
const verdict::Limit multiples{measures::Quantity::multiples_index, 0.05};

LimitResult result(const verdict::Limit& limit, double low, double value, double high) {
    const statistics::Interval interval{low, high};
    return {limit, statistics::Estimate{value, interval, Confidence{0.95}, "constructed"},
            verdict::by_interval(interval, limit)};
}

TestedRun undecided(const std::string& name, double value, std::int64_t drops = 200) {
    TestedRun run;
    run.unit = "U-1";
    run.file = name;
    run.drops = drops;
    run.limits = {result(misses, value - 0.02, value, value + 0.03),
                  result(multiples, 0.0, 0.01, 0.02)};
    return run;
}

} // namespace

// By hand: mean of 0.03 and 0.04 weighed 1 to 3; half-widths 0.02 and 0.03 in quadrature.
TEST(PooledRuns, AreTheMeanOfTheirValuesWeighedByDrops) {
    const std::vector<TestedRun> runs{undecided("a", 0.03, 100), undecided("b", 0.04, 300)};
    const auto found = pooled("U-1", runs, 2);
    ASSERT_TRUE(found);
    const auto& miss = *found->limits.at(0).estimate;
    EXPECT_NEAR(miss.value, 0.25 * 0.03 + 0.75 * 0.04, 1e-12);
    EXPECT_NEAR(miss.interval->low, miss.value - std::hypot(0.25, 0.75) * 0.02, 1e-12);
    EXPECT_NEAR(miss.interval->high, miss.value + std::hypot(0.25, 0.75) * 0.03, 1e-12);
    EXPECT_EQ(found->outcome, verdict::Outcome::undecided);
}

TEST(PooledRuns, DecideByAllLimitsTogether) {
    std::vector<TestedRun> runs{undecided("a", 0.03), undecided("b", 0.03), undecided("c", 0.03)};
    EXPECT_EQ(pooled("U-1", runs, 3)->outcome, verdict::Outcome::within);
    for (TestedRun& run : runs)
        run.limits[1] = result(multiples, 0.051, 0.08, 0.11);
    EXPECT_EQ(pooled("U-1", runs, 3)->outcome, verdict::Outcome::outside);
}

TEST(PooledRuns, AreNoneWhereARunIsMissingUnlikeOrHeldBack) {
    const std::vector<TestedRun> three{undecided("a", 0.03), undecided("b", 0.03),
                                       undecided("c", 0.03)};
    EXPECT_FALSE(pooled("U-1", three, 4));
    EXPECT_FALSE(pooled("U-2", three, 3));
    for (const auto change :
         {+[](TestedRun& run) { run.held_back = HeldBack::halted_early; },
          +[](TestedRun& run) { run.outcome = verdict::Outcome::within; },
          +[](TestedRun& run) { run.conditions.speed_um_s = "1"; },
          +[](TestedRun& run) { run.calibrations = {"CAL-9"}; },
          +[](TestedRun& run) { run.limits[0].estimate.reset(); },
          +[](TestedRun& run) { run.limits.clear(); }, +[](TestedRun& run) { run.drops = 0; },
          +[](TestedRun& run) {
              run.taken_out = TakenOut{VoidCause::gate_fault, "dust", ""};
          }}) {
        std::vector<TestedRun> changed = three;
        change(changed[1]);
        EXPECT_FALSE(pooled("U-1", changed, 3));
    }
}

// The first so many count, whatever came later: no choice of the three that suit.
TEST(PooledRuns, AreTheFirstOfAUnit) {
    const std::vector<TestedRun> runs{undecided("a", 0.04), undecided("b", 0.04),
                                      undecided("c", 0.001)};
    const auto found = pooled("U-1", runs, 2);
    ASSERT_TRUE(found);
    EXPECT_EQ(found->files, (std::vector<std::string>{"a", "b"}));
}

// Drawn: a unit on its limit, three undecided runs of 500 drops each. Judged together it is called
// within, or outside, no more often than one run's interval allows.
TEST(PooledRuns, SeldomDecideAUnitOnItsLimit) {
    constexpr std::int64_t drops = 500;
    std::map<std::int64_t, statistics::Estimate> known;
    const auto estimate = [&](std::int64_t x) {
        const auto found = known.find(x);
        return found != known.end()
                   ? found->second
                   : known.emplace(x, *statistics::share_estimate(x, drops, 1.0, Confidence{0.95}))
                         .first->second;
    };
    std::mt19937_64 random{20260301};
    std::binomial_distribution<std::int64_t> missed{drops, misses.value};
    int undecided_units = 0;
    std::map<verdict::Outcome, int> outcomes;
    for (int unit = 0; unit < 20'000; ++unit) {
        std::vector<TestedRun> runs;
        for (int turn = 0; turn < 3; ++turn) {
            TestedRun run = undecided("a", 0.0, drops);
            const auto found = estimate(missed(random));
            run.limits = {{misses, found, verdict::by_interval(*found.interval, misses)}};
            run.outcome = run.limits.front().outcome;
            runs.push_back(std::move(run));
        }
        const auto together = pooled("U-1", runs, 3);
        if (!together)
            continue;
        ++undecided_units;
        ++outcomes[together->outcome];
    }
    EXPECT_GT(undecided_units, 15'000);
    EXPECT_LT(outcomes[verdict::Outcome::within], undecided_units / 40);
    EXPECT_LT(outcomes[verdict::Outcome::outside], undecided_units / 40);
    EXPECT_GT(outcomes[verdict::Outcome::within] + outcomes[verdict::Outcome::outside], 0);
}

namespace {

std::vector<TestedRun> measured_runs(const std::vector<double>& values) {
    std::vector<TestedRun> runs;
    for (std::size_t i = 0; i < values.size(); ++i) {
        runs.push_back(undecided(std::to_string(i), values[i]));
        runs.back().unit = "U-" + std::to_string(i);
    }
    return runs;
}

std::vector<std::string> units_of(const std::vector<TestedRun>& runs) {
    std::vector<std::string> units;
    for (const TestedRun& run : runs)
        units.push_back(run.unit);
    return units;
}

} // namespace

// By hand: mean 0.02, standard deviation 0.01; k as the plan says.
TEST(PlanByVariables, AcceptsWhereMeanAndSpreadKeepTheLimit) {
    const auto plan = variables_plan_of(100, misses, {.good = 0.01, .bad = 0.5});
    ASSERT_TRUE(plan);
    const std::vector<TestedRun> runs = measured_runs({0.01, 0.02, 0.03});
    const std::vector<std::string> units = units_of(runs);
    const auto found = measured_sample(*plan, {units, runs, {}});
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->mean, 0.02, 1e-12);
    EXPECT_NEAR(found->sd, 0.01, 1e-12);
    EXPECT_NEAR(found->criterion, 0.02 + plan->measured->plan.k * 0.01, 1e-12);
    EXPECT_EQ(found->accepted, found->criterion <= 0.05);
    EXPECT_FALSE(found->normality_p);
}

TEST(PlanByVariables, AcceptsNeitherValuesThatAreNotNormalNorAUnitOutsideByAnotherLimit) {
    const auto plan = variables_plan_of(100, misses, {.good = 0.01, .bad = 0.5});
    ASSERT_TRUE(plan);
    std::vector<TestedRun> runs =
        measured_runs({0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.04});
    std::vector<std::string> units = units_of(runs);
    auto found = measured_sample(*plan, {units, runs, {}});
    ASSERT_TRUE(found && found->normality_p);
    EXPECT_LT(*found->normality_p, 0.05);
    EXPECT_LE(found->criterion, 0.05);
    EXPECT_FALSE(found->accepted);
    runs = measured_runs({0.01, 0.012, 0.014});
    units = units_of(runs);
    ASSERT_TRUE(measured_sample(*plan, {units, runs, {}})->accepted);
    runs[0].limits[1] = result(multiples, 0.06, 0.08, 0.1);
    EXPECT_FALSE(measured_sample(*plan, {units, runs, {}})->accepted);
    runs.pop_back();
    EXPECT_FALSE(measured_sample(*plan, {units, runs, {}})); // a unit has no value yet
}

TEST(Risks, AreNamedAtWholeNumbersOfUnits) {
    const auto plan = table_plan({.lot = 280, .level = "II", .aql = 1.0}, "as asked");
    ASSERT_TRUE(plan);
    const NamedRisks named = named_risks_of(*plan);
    ASSERT_TRUE(named.producer && named.consumer);
    EXPECT_NEAR(named.producer->share, 2.0 / 280.0, 1e-12); // 1 % of 280, next below
    EXPECT_GT(named.producer->accept_probability, 0.9);
    EXPECT_LE(named.consumer->accept_probability, 0.10);
    const NamedRisks own = named_risks_of(*own_plan(280, 50, 1));
    EXPECT_FALSE(own.producer);
    EXPECT_NEAR(own.consumer->share, named.consumer->share, 1e-12);
}

TEST(Serials, AreToldAsRanges) {
    const std::vector<std::string> serials{"SU-0001", "SU-0002", "SU-0003", "SU-0005",
                                           "X",       "SU-9",    "SU-10"};
    EXPECT_EQ(ranges_of(serials),
              (std::vector<std::string>{"SU-0001 to SU-0003", "SU-0005", "X", "SU-9", "SU-10"}));
}
