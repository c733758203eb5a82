// Constructed from measures, section 5.
#include "analysis/verdict/judgement.hpp"

#include "analysis/statistics/proportion.hpp"

#include <gtest/gtest.h>

#include <numeric>
#include <vector>

using namespace dropledger;
using namespace dropledger::verdict;
using statistics::Estimate;
using statistics::Interval;

namespace {

const Confidence ninety_five{0.95};

Finding with_interval(double low, double high) {
    Finding finding;
    finding.estimate = Estimate{(low + high) / 2.0, Interval{low, high}, ninety_five, "test"};
    finding.observations = 100;
    return finding;
}

Finding share_of(std::int64_t x, std::int64_t n) {
    Finding finding;
    finding.estimate = statistics::share_estimate(x, n, 1.0, ninety_five);
    finding.observations = n;
    finding.counts = ShareCounts{x, n, 1.0};
    return finding;
}

Profile profile_of(std::int64_t least_drops) {
    Profile profile;
    profile.least_drops = least_drops;
    return profile;
}

const RunState complete{.drops = 1000, .complete = true, .why_incomplete = ""};
const RunState incomplete{
    .drops = 1000, .complete = false, .why_incomplete = "2 lines are missing"};

struct Case {
    Quantity quantity;
    double limit, low, high;
    Outcome expected;
};

} // namespace

TEST(Judgement, ComparesTheWholeIntervalWithTheLimit) {
    for (const Case& c :
         std::vector<Case>{{Quantity::miss_index, 0.05, 0.01, 0.04, Outcome::within},
                           {Quantity::miss_index, 0.05, 0.01, 0.05, Outcome::within},
                           {Quantity::miss_index, 0.05, 0.04, 0.06, Outcome::undecided},
                           {Quantity::miss_index, 0.05, 0.05, 0.06, Outcome::undecided},
                           {Quantity::miss_index, 0.05, 0.06, 0.08, Outcome::outside},
                           {Quantity::exact_share, 0.90, 0.91, 0.95, Outcome::within},
                           {Quantity::exact_share, 0.90, 0.90, 0.95, Outcome::within},
                           {Quantity::exact_share, 0.90, 0.85, 0.95, Outcome::undecided},
                           {Quantity::exact_share, 0.90, 0.80, 0.89, Outcome::outside},
                           {Quantity::offset_mm, 10, -4, 5, Outcome::within},
                           {Quantity::offset_mm, 10, -10, -4, Outcome::within},
                           {Quantity::offset_mm, 10, -11, 5, Outcome::undecided},
                           {Quantity::offset_mm, 10, -15, -11, Outcome::outside},
                           {Quantity::offset_mm, 10, 11, 15, Outcome::outside},
                           {Quantity::offset_mm, 10, -11, 12, Outcome::undecided}}) {
        const Criterion found =
            judge({c.quantity, c.limit}, with_interval(c.low, c.high), profile_of(250), complete);
        EXPECT_EQ(found.outcome, c.expected) << c.low << " to " << c.high << " against " << c.limit;
        EXPECT_FALSE(found.reason.empty());
    }
}

TEST(Judgement, NeverCallsAnIncompleteRunWithin) {
    const Limit limit{Quantity::miss_index, 0.05};
    const Criterion held = judge(limit, with_interval(0.01, 0.02), profile_of(250), incomplete);
    EXPECT_EQ(held.outcome, Outcome::undecided);
    EXPECT_NE(held.reason.find("2 lines are missing"), std::string::npos);
    EXPECT_EQ(judge(limit, with_interval(0.2, 0.3), profile_of(250), incomplete).outcome,
              Outcome::outside);
}

TEST(Judgement, DoesNotBlameAUnitForWhatTheMissingLinesMayHold) {
    Finding finding = with_interval(0.06, 0.08);
    finding.at_best = Interval{0.03, 0.05};
    const Limit limit{Quantity::miss_index, 0.05};
    EXPECT_EQ(judge(limit, finding, profile_of(250), incomplete).outcome, Outcome::undecided);
    finding.at_best = Interval{0.055, 0.07};
    EXPECT_EQ(judge(limit, finding, profile_of(250), incomplete).outcome, Outcome::outside);
}

TEST(Judgement, AsksForTheLeastNumberOfDrops) {
    const RunState few{.drops = 100, .complete = true, .why_incomplete = ""};
    const Criterion found =
        judge({Quantity::miss_index, 0.05}, with_interval(0.0, 0.03), profile_of(250), few);
    EXPECT_EQ(found.outcome, Outcome::undecided);
    EXPECT_EQ(found.more_drops, 150);
    const Criterion straddling =
        judge({Quantity::miss_index, 0.05}, share_of(1, 100), profile_of(250), few);
    EXPECT_EQ(straddling.outcome, Outcome::undecided);
    EXPECT_GE(straddling.more_drops, 150);
    EXPECT_EQ(
        judge({Quantity::miss_index, 0.05}, with_interval(0.2, 0.3), profile_of(250), few).outcome,
        Outcome::outside);
}

TEST(Judgement, LeavesUndecidedWhatIsNotDefined) {
    Finding finding;
    finding.why_undefined = "there is no spacing";
    const Criterion found = judge({Quantity::miss_index, 0.05}, finding, profile_of(250), complete);
    EXPECT_EQ(found.outcome, Outcome::undecided);
    EXPECT_EQ(found.reason, "there is no spacing");
    Finding point;
    point.estimate = Estimate{0.01, std::nullopt, ninety_five, "one value"};
    EXPECT_EQ(judge({Quantity::miss_index, 0.05}, point, profile_of(250), complete).outcome,
              Outcome::undecided);
}

TEST(Judgement, SaysHowManyMoreDropsDecideIt) {
    int tried = 0;
    for (const auto& [misses, limit] : std::vector<std::pair<std::int64_t, double>>{
             {24, 0.05}, {36, 0.05}, {20, 0.03}, {15, 0.03}}) {
        const Limit at_most{Quantity::miss_index, limit};
        const Criterion found = judge(at_most, share_of(misses, 600), profile_of(1), complete);
        if (found.outcome != Outcome::undecided)
            continue;
        ASSERT_GT(found.more_drops, 0);
        // Simulated forward at the present estimate, where it stays a whole number of misses.
        const std::int64_t step = 600 / std::gcd(misses, std::int64_t{600});
        const auto outcome_at = [&](std::int64_t steps) {
            const std::int64_t n = steps * step;
            return judge(at_most, share_of(misses * n / 600, n), profile_of(1), complete).outcome;
        };
        const std::int64_t decided_at = 600 + found.more_drops;
        EXPECT_NE(outcome_at((decided_at + step - 1) / step), Outcome::undecided) << misses;
        EXPECT_EQ(outcome_at((decided_at - 1) / step), Outcome::undecided) << misses;
        ++tried;
    }
    EXPECT_GE(tried, 2);
}

TEST(Judgement, TakesTheWorstOfItsCriteria) {
    using enum Outcome;
    EXPECT_EQ(worst({within, undecided, within}, undecided), undecided);
    EXPECT_EQ(worst({within, undecided, outside}, undecided), outside);
    EXPECT_EQ(worst({within, within}, undecided), within);
    EXPECT_EQ(worst({}, undecided), undecided);
    EXPECT_EQ(judgement({}, complete).outcome, undecided);
    EXPECT_FALSE(judgement({}, complete).reason.empty());
}
