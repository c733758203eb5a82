// Constructed from definitions, section 5.
#include "analysis/verdict/judgement.hpp"

#include "analysis/statistics/shares/proportion.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

using namespace dropledger;
using namespace dropledger::verdict;
using statistics::Estimate;
using statistics::Interval;

namespace {

using Q = measures::Quantity;

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
    Q quantity;
    double limit, low, high;
    Outcome expected;
};

} // namespace

TEST(Judgement, ComparesTheWholeIntervalWithTheLimit) {
    for (const Case& c : std::vector<Case>{{Q::miss_index, 0.05, 0.01, 0.04, Outcome::within},
                                           {Q::miss_index, 0.05, 0.01, 0.05, Outcome::within},
                                           {Q::miss_index, 0.05, 0.04, 0.06, Outcome::undecided},
                                           {Q::miss_index, 0.05, 0.05, 0.06, Outcome::undecided},
                                           {Q::miss_index, 0.05, 0.06, 0.08, Outcome::outside},
                                           {Q::exact_share, 0.90, 0.91, 0.95, Outcome::within},
                                           {Q::exact_share, 0.90, 0.90, 0.95, Outcome::within},
                                           {Q::exact_share, 0.90, 0.85, 0.95, Outcome::undecided},
                                           {Q::exact_share, 0.90, 0.80, 0.89, Outcome::outside},
                                           {Q::offset_mm, 10, -4, 5, Outcome::within},
                                           {Q::offset_mm, 10, -10, -4, Outcome::within},
                                           {Q::offset_mm, 10, -11, 5, Outcome::undecided},
                                           {Q::offset_mm, 10, -15, -11, Outcome::outside},
                                           {Q::offset_mm, 10, 11, 15, Outcome::outside},
                                           {Q::offset_mm, 10, -11, 12, Outcome::undecided}}) {
        const Criterion found =
            judge({c.quantity, c.limit}, with_interval(c.low, c.high), profile_of(250), complete);
        EXPECT_EQ(found.outcome, c.expected) << c.low << " to " << c.high << " against " << c.limit;
        EXPECT_FALSE(found.reason.empty());
    }
}

TEST(Judgement, NeverCallsAnIncompleteRunWithin) {
    const Limit limit{Q::miss_index, 0.05};
    const Criterion held = judge(limit, with_interval(0.01, 0.02), profile_of(250), incomplete);
    EXPECT_EQ(held.outcome, Outcome::undecided);
    EXPECT_NE(held.reason.find("2 lines are missing"), std::string::npos);
    EXPECT_EQ(judge(limit, with_interval(0.2, 0.3), profile_of(250), incomplete).outcome,
              Outcome::outside);
}

TEST(Judgement, DoesNotBlameAUnitForWhatTheMissingLinesMayHold) {
    Finding finding = with_interval(0.06, 0.08);
    finding.at_best = Interval{0.03, 0.05};
    const Limit limit{Q::miss_index, 0.05};
    EXPECT_EQ(judge(limit, finding, profile_of(250), incomplete).outcome, Outcome::undecided);
    finding.at_best = Interval{0.055, 0.07};
    EXPECT_EQ(judge(limit, finding, profile_of(250), incomplete).outcome, Outcome::outside);
}

TEST(Judgement, AsksForTheLeastNumberOfDrops) {
    const RunState few{.drops = 100, .complete = true, .why_incomplete = ""};
    const Criterion found =
        judge({Q::miss_index, 0.05}, with_interval(0.0, 0.03), profile_of(250), few);
    EXPECT_EQ(found.outcome, Outcome::undecided);
    EXPECT_EQ(found.more_drops, 150);
    const Criterion straddling =
        judge({Q::miss_index, 0.05}, share_of(1, 100), profile_of(250), few);
    EXPECT_EQ(straddling.outcome, Outcome::undecided);
    EXPECT_GE(straddling.more_drops, 150);
    EXPECT_EQ(judge({Q::miss_index, 0.05}, with_interval(0.2, 0.3), profile_of(250), few).outcome,
              Outcome::outside);
}

TEST(Judgement, LeavesUndecidedWhatIsNotDefined) {
    Finding finding;
    finding.why_undefined = "there is no spacing";
    const Criterion found = judge({Q::miss_index, 0.05}, finding, profile_of(250), complete);
    EXPECT_EQ(found.outcome, Outcome::undecided);
    EXPECT_EQ(found.reason, "there is no spacing");
    Finding point;
    point.estimate = Estimate{0.01, std::nullopt, ninety_five, "one value"};
    EXPECT_EQ(judge({Q::miss_index, 0.05}, point, profile_of(250), complete).outcome,
              Outcome::undecided);
}

// What the number means is tested in statistics/more_needed_test.cpp.
TEST(Judgement, SaysHowManyMoreDropsDecideIt) {
    const Limit at_most{Q::miss_index, 0.05};
    const Criterion far = judge(at_most, share_of(20, 600), profile_of(1), complete);
    const Criterion near = judge(at_most, share_of(24, 600), profile_of(1), complete);
    EXPECT_EQ(far.outcome, Outcome::undecided);
    EXPECT_GT(far.more_drops, 0);
    EXPECT_GT(near.more_drops, far.more_drops);
}

TEST(Judgement, CallsNothingOutsideByTooFewEvents) {
    const Limit at_most{Q::miss_index, 0.05};
    Finding finding = with_interval(0.2, 0.6);
    Profile profile = profile_of(1);
    EXPECT_EQ(judge(at_most, finding, profile, complete).outcome, Outcome::outside);
    finding.estimate->events = 2;
    const Criterion found = judge(at_most, finding, profile, complete);
    EXPECT_EQ(found.outcome, Outcome::undecided);
    EXPECT_NE(found.reason.find("2 independent events"), std::string::npos);
    finding.estimate->events = 3;
    EXPECT_EQ(judge(at_most, finding, profile, complete).outcome, Outcome::outside);
    profile.least_events = 4;
    EXPECT_EQ(judge(at_most, finding, profile, complete).outcome, Outcome::undecided);
}

TEST(Judgement, GivesTheReasonOfAMissingInterval) {
    Finding finding;
    finding.estimate = Estimate{
        .value = 0.0, .confidence = ninety_five, .no_interval = statistics::NoInterval::all_equal};
    const Criterion found = judge({Q::precision, 0.15}, finding, profile_of(250), complete);
    EXPECT_EQ(found.reason, "no interval: all values are equal");
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
