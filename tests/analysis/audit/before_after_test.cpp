// Pairs of runs whose truth is known, and pairs that must not be compared.
#include "analysis/audit/before_after.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "tests/analysis/audit/sample.hpp"
#include "tests/analysis/audit/sibling_machines.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace dropledger::audit {

namespace {

using statistics::Estimate;
using testing::InventedUnit;

const Confidence usual{0.95};
const Confidence of_thirty{1.0 - 0.05 / 30.0};

Estimate share_of(std::int64_t x, std::int64_t n) {
    return *statistics::share_estimate(x, n, 1.0, usual);
}

double chance_of(std::int64_t x, std::int64_t n, double share) {
    const auto log_choose = [](double of, double some) {
        return std::lgamma(of + 1.0) - std::lgamma(some + 1.0) - std::lgamma(of - some + 1.0);
    };
    const auto count = static_cast<double>(x);
    const auto all = static_cast<double>(n);
    return std::exp(log_choose(all, count) + count * std::log(share) +
                    (all - count) * std::log1p(-share));
}

struct Runs {
    std::int64_t before = 0; // drops
    std::int64_t after = 0;
};

// Over all that can come out: how often a difference of two shares is called.
double called(const Runs& drops, double before, double after, Confidence level) {
    constexpr std::int64_t most = 120; // beyond, no chance is left at the shares asked for
    std::vector<Estimate> was;
    std::vector<Estimate> is;
    for (std::int64_t x = 0; x <= most; ++x) {
        was.push_back(share_of(x, drops.before));
        is.push_back(share_of(x, drops.after));
    }
    double chance = 0.0;
    for (std::int64_t x = 0; x <= most; ++x)
        for (std::int64_t y = 0; y <= most; ++y) {
            const auto found = difference_of(was.at(static_cast<std::size_t>(x)),
                                             is.at(static_cast<std::size_t>(y)), level);
            if (found->low > 0.0 || found->high < 0.0)
                chance += chance_of(x, drops.before, before) * chance_of(y, drops.after, after);
        }
    return chance;
}

AuditReport report_of(std::vector<ChannelReport> channels, const char* run_id,
                      const char* started) {
    AuditReport report = sample::report_of({.drops = 120});
    for (ChannelReport& channel : channels)
        channel.unit = "U-" + std::to_string(channel.channel);
    report.channels = std::move(channels);
    report.contradictions.clear();
    report.file = std::string(run_id) + ".droplog";
    report.run_id = run_id;
    report.started = started;
    return report;
}

AuditReport earlier(std::vector<ChannelReport> channels) {
    return report_of(std::move(channels), "before", "2026-01-05T08:00:00Z");
}

AuditReport later(std::vector<ChannelReport> channels) {
    return report_of(std::move(channels), "after", "2026-01-06T08:00:00Z");
}

bool finds_any(const BeforeAfter& found) {
    for (const ComparedUnit& unit : found.units)
        for (const ComparedQuantity& one : unit.quantities)
            if (one.differs())
                return true;
    return false;
}

// A log of the sample's units, as another run.
struct Pair {
    AuditReport before = sample::report_of({.drops = 300});
    AuditReport after = sample::report_of({.drops = 300});
    Pair() {
        before.file = "before.droplog";
        after.file = "after.droplog";
        after.run_id = "00000000-0000-4000-8000-000000000002";
        after.started = "2026-01-06T08:00:00Z";
    }
    [[nodiscard]] std::string refusal() const {
        const auto found = before_and_after(before, after);
        return found ? std::string("compared") : found.error().what;
    }
    [[nodiscard]] const ComparedUnit unit() const {
        return before_and_after(before, after).value().units.front();
    }
};

const ComparedQuantity& quantity_of(const ComparedUnit& unit, measures::Quantity which) {
    for (const ComparedQuantity& one : unit.quantities)
        if (one.what.quantity == which)
            return one;
    throw std::out_of_range("no such quantity");
}

} // namespace

// Exact: over all counts that can come out.
TEST(BeforeAfter, CallsEqualSharesDifferentInAsFewRunsAsItSays) {
    for (const Runs drops : {Runs{500, 500}, Runs{150, 600}, Runs{600, 150}})
        for (const double share : {0.003, 0.02, 0.08}) {
            EXPECT_LE(called(drops, share, share, usual), 0.05) << share;
            EXPECT_LE(called(drops, share, share, of_thirty), 0.05 / 30.0) << share;
        }
    EXPECT_GT(called({500, 500}, 0.08, 0.08, usual), 0.005); // it is no rule that never calls
}

TEST(BeforeAfter, FindsARepairThatMattersEvenAmongThirtyComparisons) {
    EXPECT_GT(called({600, 600}, 0.09, 0.015, of_thirty), 0.95);
    EXPECT_LT(called({600, 600}, 0.03, 0.02, of_thirty), 0.2); // such runs are too short to tell
}

// The worst of six equal units is run again: it looks better with nothing done to it.
TEST(BeforeAfter, IsNotFooledByAUnitThatWasPickedByItsResult) {
    constexpr int picks = 2'000;
    constexpr std::int64_t drops = 300;
    std::mt19937_64 random{20260105};
    std::binomial_distribution<std::int64_t> misses{drops, 0.03};
    int fooled = 0;
    int would_be_fooled = 0;
    for (int pick = 0; pick < picks; ++pick) {
        std::int64_t worst = 0;
        for (int unit = 0; unit < 6; ++unit)
            worst = std::max(worst, misses(random));
        const std::int64_t again = misses(random);
        const auto careful = difference_of(share_of(worst, drops), share_of(again, drops),
                                           Confidence{1.0 - 0.05 / 6.0});
        const auto naive = difference_of(share_of(worst, drops), share_of(again, drops), usual);
        fooled += careful->high < 0.0 ? 1 : 0;
        would_be_fooled += naive->high < 0.0 ? 1 : 0;
    }
    EXPECT_LE(fooled, picks / 20);
    EXPECT_GT(would_be_fooled, 2 * fooled); // the allowance for all six is what keeps it honest
}

TEST(BeforeAfter, AllowsForAllUnitsOfTheFirstRunWhereOneIsRunAgain) {
    const std::vector<InventedUnit> six(6);
    auto again = testing::machine(six, 8);
    again.resize(1);
    const auto one = before_and_after(earlier(testing::machine(six, 7)), later(again)).value();
    const auto all =
        before_and_after(earlier(testing::machine(six, 7)), later(testing::machine(six, 8)))
            .value();
    EXPECT_EQ(one.comparisons, all.comparisons);
    EXPECT_EQ(one.units.size(), 1U);
    EXPECT_EQ(one.not_in_both.size(), 5U);
    EXPECT_EQ(one.units[0].quantities[0].difference->low,
              all.units[0].quantities[0].difference->low);
}

// Machines of six equal units, run twice; misses in rows and places that wander among them.
TEST(BeforeAfter, RaisesFewFalseAlarmsOverWholeMachines) {
    constexpr int machines = 40;
    const double error = std::sqrt(0.05 * 0.95 / machines);
    for (const InventedUnit& unit :
         std::vector<InventedUnit>{{}, {.miss = 0.05, .row = 2.5}, {.memory = 0.9}}) {
        int alarms = 0;
        for (int number = 1; number <= machines; ++number) {
            const auto seed = static_cast<std::uint64_t>(number);
            const std::vector<InventedUnit> six(6, unit);
            const auto found = before_and_after(earlier(testing::machine(six, seed)),
                                                later(testing::machine(six, seed + 1000)));
            alarms += finds_any(found.value()) ? 1 : 0;
        }
        EXPECT_LE(static_cast<double>(alarms) / machines, 0.05 + 2.0 * error)
            << unit.row << " " << unit.memory;
    }
}

TEST(BeforeAfter, FindsTheUnitWhosePlacesWereMovedAndNoOther) {
    std::vector<InventedUnit> units(6);
    const auto before = earlier(testing::machine(units, 21));
    units[2].offset_mm = 9.0;
    const auto found = before_and_after(before, later(testing::machine(units, 22))).value();
    for (const ComparedUnit& unit : found.units)
        EXPECT_EQ(quantity_of(unit, measures::Quantity::bias_mm).differs(), unit.unit == "U-2")
            << unit.unit;
}

TEST(BeforeAfter, TakesTheDifferenceFromTheLimitsThatFaceEachOther) {
    const Estimate before{.value = 10.0, .interval = statistics::Interval{9.0, 14.0}};
    const Estimate after{.value = 13.0, .interval = statistics::Interval{10.0, 14.0}};
    const auto found = difference_of(before, after, usual);
    EXPECT_DOUBLE_EQ(found->low, 3.0 - 5.0);             // hypot(3, 4)
    EXPECT_DOUBLE_EQ(found->high, 3.0 + std::sqrt(2.0)); // hypot(1, 1)
}

TEST(BeforeAfter, ComparesTwoRunsOfTheSameSettings) {
    const Pair pair;
    EXPECT_EQ(pair.refusal(), "compared");
    EXPECT_EQ(pair.unit().quantities.size(), 5U);
    EXPECT_FALSE(finds_any(before_and_after(pair.before, pair.after).value()));
}

TEST(BeforeAfter, RefusesRunsThatAreNotOfOneKindAndSaysWhy) {
    const auto refused = [](auto change) {
        Pair pair;
        change(pair);
        return pair.refusal();
    };
    const auto holds = [](const std::string& text, const char* part) {
        EXPECT_NE(text.find(part), std::string::npos) << text;
    };
    holds(refused([](Pair& p) { p.after.run_id = p.before.run_id; }), "same run");
    holds(refused([](Pair& p) { std::swap(p.before.started, p.after.started); }), "began before");
    holds(refused([](Pair& p) { p.after.profile.limits.front().value = 0.01; }), "other limits");
    holds(refused([](Pair& p) { p.after.setup.spacing_um = 150'000; }),
          "its spacing is 150 mm, and was 180 mm");
    holds(refused([](Pair& p) { p.after.setup.speed_um_s = 1'000'000; }),
          "its speed is 1 m/s, and was 0.5 m/s");
    holds(refused([](Pair& p) { p.after.setup.mode = ledger::Mode::portion; }), "its mode");
    holds(refused([](Pair& p) { p.before.integrity.seals.intact = false; }), "does not hold");
    holds(refused([](Pair& p) { p.after.integrity.close_reason.reset(); }), "not whole");
    holds(refused([](Pair& p) { p.after.channels.front().unit = "U-9"; }), "no unit in common");
    holds(refused([](Pair& p) { p.after.from_spacings = true; }), "list of spacings");
}

TEST(BeforeAfter, ComparesNothingOfAUnitWhoseEvidenceDoesNotBearIt) {
    Pair contradicted;
    contradicted.before.contradictions.push_back(
        {Contradiction::gates_disagree, 0, "its gates disagree", ""});
    EXPECT_NE(contradicted.unit().why_not.find("before.droplog, its gates disagree"),
              std::string::npos);
    EXPECT_TRUE(contradicted.unit().quantities.empty());
    Pair other_gate;
    other_gate.after.channels.front().gate = 0;
    EXPECT_NE(other_gate.unit().why_not.find("gate 0 after"), std::string::npos);
    Pair corrected;
    corrected.after.channels.front().sensor.efficiency = share_of(95, 100);
    EXPECT_NE(corrected.unit().why_not.find("in the run after only"), std::string::npos);
}

TEST(BeforeAfter, ComparesNoPlacesWhereTheirScaleWasSetOtherwise) {
    Pair pair;
    pair.after.setup.channels.at(0).gates.front().fall_us += 5'000;
    const ComparedUnit unit = pair.unit();
    for (const auto place : {measures::Quantity::bias_mm, measures::Quantity::sd_mm}) {
        EXPECT_FALSE(quantity_of(unit, place).difference);
        EXPECT_NE(quantity_of(unit, place).why_not.find("set otherwise"), std::string::npos);
    }
    EXPECT_TRUE(quantity_of(unit, measures::Quantity::miss_share).difference);
}

TEST(BeforeAfter, TellsWhatElseWasAnother) {
    Pair pair;
    pair.after.header.run["seed_lot"] = "L-2";
    pair.after.header.channels[0]["lead_us"] = "20000";
    const auto found = before_and_after(pair.before, pair.after).value();
    EXPECT_EQ(found.cautions.front(), "The seed lot is another one: L-2, and was not stated.");
    ASSERT_EQ(found.units.front().settings.size(), 1U);
    EXPECT_EQ(found.units.front().settings.front().key, "lead_us");
    EXPECT_EQ(found.units.front().settings.front().before, "");
}

} // namespace dropledger::audit
