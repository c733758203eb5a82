#include "analysis/batch/chain/batch.hpp"
#include "analysis/batch/runs/statistics.hpp"

#include "analysis/batch/chain/choice.hpp"
#include "analysis/sampling/operating_characteristic.hpp"
#include "small_batch.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

using namespace dropledger;
using namespace dropledger::batch;

TEST(Batch, TakesEachLogOnce) {
    Batch batch = small();
    add(batch, run(batch, 0, "a", "within"));
    TestedRun copy = run(batch, 1, "b", "within");
    copy.sha256 = "hash-a";
    EXPECT_NE(why_not(batch, copy).find("in the batch already, as a.droplog"), std::string::npos);
    copy = run(batch, 1, "b", "within");
    copy.run = "run-a";
    EXPECT_NE(why_not(batch, copy).find("its run run-a is in the batch already"),
              std::string::npos);
    copy = run(batch, 1, "b", "within");
    copy.file = "a.droplog";
    EXPECT_NE(why_not(batch, copy).find("another log of this name"), std::string::npos);
}

TEST(Batch, TestsOnlyTheChosenUnits) {
    Batch batch = small();
    TestedRun other = run(batch, 0, "a", "within");
    for (const std::string& serial : batch.serials)
        if (std::find(batch.chosen.begin(), batch.chosen.end(), serial) == batch.chosen.end())
            other.unit = serial;
    EXPECT_NE(why_not(batch, other).find("was not chosen"), std::string::npos);
    other.unit = "X-9";
    EXPECT_NE(why_not(batch, other).find("is not of this batch"), std::string::npos);
    other.unit = "";
    EXPECT_NE(why_not(batch, other).find("does not say which unit"), std::string::npos);
}

// One row a rule: runs of one unit in their order, "void" after a run makes it void.
TEST(Batch, CountsEveryRunOfAUnit) {
    struct Row {
        std::vector<std::string> runs;
        std::string conforms; // yes, no, open, untested
    };
    for (const Row& row :
         {Row{{"within"}, "yes"}, Row{{"outside"}, "no"}, Row{{"undecided"}, "open"},
          Row{{"within", "outside"}, "no"}, Row{{"outside", "within"}, "no"},
          Row{{"undecided", "within"}, "yes"}, Row{{"undecided", "outside"}, "no"},
          Row{{"within", "undecided"}, "yes"}, Row{{"outside", "void"}, "untested"},
          Row{{"outside", "void", "within"}, "yes"}, Row{{"within", "void", "outside"}, "no"},
          Row{{"outside", "undecided", "void"}, "no"}}) {
        Batch batch = small();
        std::string last;
        for (const std::string& step : row.runs) {
            if (step == "void") {
                EXPECT_TRUE(voided(batch, last, "the guard opened"));
                continue;
            }
            const TestedRun next = run(batch, 0, std::to_string(batch.runs.size()), step);
            last = next.run;
            add(batch, next, "asked for");
        }
        const Standing found = standing(batch.tested());
        const std::string conforms = !found.conforming.empty()      ? "yes"
                                     : !found.nonconforming.empty() ? "no"
                                     : !found.undecided.empty()     ? "open"
                                                                    : "untested";
        EXPECT_EQ(conforms, row.conforms) << ::testing::PrintToString(row.runs);
    }
}

TEST(Batch, TestsAUnitAgainOnlyWithAReason) {
    Batch batch = small();
    add(batch, run(batch, 0, "a", "outside"));
    EXPECT_NE(why_not(batch, run(batch, 0, "b", "within")).find("has been tested already"),
              std::string::npos);
    add(batch, run(batch, 0, "b", "within"), "new disc");
    EXPECT_EQ(batch.runs.back().reason, "new disc");
    add(batch, run(batch, 1, "c", "undecided"));
    add(batch, run(batch, 1, "d", "within"));
    EXPECT_EQ(batch.runs.back().reason, "the runs before were undecided");
}

TEST(Batch, KeepsAVoidRunListedWithItsReason) {
    Batch batch = small();
    add(batch, run(batch, 0, "a", "outside"));
    EXPECT_FALSE(voided(batch, "run-a", ""));
    EXPECT_FALSE(voided(batch, "run-z", "why"));
    EXPECT_FALSE(voided(batch, "run-a", "why", "U-999"));
    EXPECT_TRUE(voided(batch, "run-a", "hopper lid open"));
    EXPECT_FALSE(voided(batch, "run-a", "again"));
    ASSERT_EQ(batch.runs.size(), 1U);
    EXPECT_FALSE(batch.runs[0].counted());
    EXPECT_EQ(batch.runs[0].taken_out->text, "hopper lid open");
}

// One unit in twenty may lose a run outside, at least one; runs that were not outside cost nothing.
TEST(Batch, CannotBeAcceptedBeyondTheBoundOfRunsTakenOut) {
    Batch batch = small();
    for (std::size_t unit = 0; unit < 3; ++unit) {
        const std::string name = std::to_string(unit);
        add(batch, run(batch, unit, name, unit < 2 ? "outside" : "undecided"));
        EXPECT_TRUE(voided(batch, "run-" + name, "dust"));
        add(batch, run(batch, unit, name + "b", "within"));
    }
    const TakenOutTally tally = taken_out(batch.runs, batch.plan.numbers.n);
    EXPECT_EQ(tally.runs, 3);
    EXPECT_EQ(tally.outside, 2);
    EXPECT_EQ(tally.units_outside, 2);
    EXPECT_EQ(tally.bound, 1);
    EXPECT_TRUE(decide(batch, at(later)));
    EXPECT_EQ(batch.decision->outcome, LotOutcome::not_accepted);
    EXPECT_EQ(taken_out(batch.runs, 80).bound, 4);
}

TEST(Batch, DecidesOnlyWhenItCan) {
    Batch batch = small();
    const auto decision = [&] { return decision_of(batch.plan, batch.tested()); };
    EXPECT_FALSE(decision());
    add(batch, run(batch, 0, "a", "within"));
    add(batch, run(batch, 1, "b", "outside"));
    EXPECT_FALSE(decision());
    Batch refused = batch;
    add(batch, run(batch, 2, "c", "within"));
    EXPECT_EQ(*decision(), LotOutcome::accepted);
    // Two nonconforming decide though a unit is missing.
    add(refused, run(refused, 0, "d", "outside"), "again");
    EXPECT_EQ(*decision_of(refused.plan, refused.tested()),
              LotOutcome::not_accepted);
    EXPECT_TRUE(decide(batch, at(later)));
    EXPECT_EQ(batch.decision->nonconforming, 1);
    EXPECT_NE(why_not(batch, run(batch, 0, "e", "within"), "x").find("it is decided"),
              std::string::npos);
    EXPECT_FALSE(voided(batch, "run-a", "late"));
}

TEST(Batch, TakesAllUnitsOfALogOrNone) {
    Batch batch = small();
    TestedRun first = run(batch, 0, "a", "within");
    TestedRun second = first;
    second.channel = 1;
    second.unit = "X-1";
    EXPECT_FALSE(added(batch, {first, second}));
    EXPECT_TRUE(batch.runs.empty());
    second.unit = batch.chosen[1];
    EXPECT_TRUE(added(batch, {first, second}));
    EXPECT_EQ(batch.runs.size(), 2U);
}

TEST(Batch, RefusesSerialsThatAreNotTheLots) {
    const auto why = [](std::vector<std::string> names) {
        OpenRequest request;
        request.id = "B-1";
        request.plan = *own_plan(3, 2, 0);
        request.profile = {"p", droplog::to_hex(droplog::sha256("text")), "text"};
        request.choice.seed = 1;
        request.serials = std::move(names);
        const auto done = open_batch(std::move(request), at(later));
        return done ? "" : done.error().what;
    };
    EXPECT_EQ(why({"A", "B", "C"}), "");
    EXPECT_NE(why({"A", "B"}).find("the lot has 3"), std::string::npos);
    EXPECT_NE(why({"A", "B", "A"}).find("twice"), std::string::npos);
    EXPECT_NE(why({"A", "B", ""}).find("is empty"), std::string::npos);
    EXPECT_NE(why({"A1", "AI", "B"}).find("'A1' and 'AI' read alike"), std::string::npos);
    EXPECT_NE(why({"A", "\xC3\x84", "B"}).find("not printable ASCII"), std::string::npos);
    EXPECT_NE(why({"A", "B ", "C"}).find("blank"), std::string::npos);
    EXPECT_FALSE(own_plan(3, 4, 0));
    EXPECT_FALSE(own_plan(3, 2, 2));
}

// 2,000 batches of 280 at each of four shares: units are chosen by the real choice, every chosen
// unit gets its run, and the real rules decide. Held to 4 standard errors of the exact
// hypergeometric acceptance.
TEST(Batch, AcceptsAsOftenAsItsPlanPromises) {
    constexpr int batches = 2'000;
    constexpr int lot = 280;
    const BatchPlan plan = *table_plan({lot, "II", 2.5, Severity::normal}, "as asked");
    std::uint64_t seed = 20260101;
    for (const int bad : {3, 11, 20, 34}) {
        int accepted = 0;
        for (int i = 0; i < batches; ++i) {
            Batch batch; // as open_batch() makes it, but for the signature
            batch.serials = serials(lot);
            batch.plan = plan;
            batch.chosen = chosen_units(batch.serials, plan.numbers.n, ++seed);
            const auto units = chosen_units(batch.serials, bad, ~seed); // those that are bad
            for (std::size_t k = 0; k < batch.chosen.size(); ++k) {
                const bool is_bad =
                    std::find(units.begin(), units.end(), batch.chosen[k]) != units.end();
                batch.runs.push_back(
                    run(batch, k, std::to_string(k), is_bad ? "outside" : "within"));
            }
            const auto decision = decision_of(batch.plan, batch.tested());
            ASSERT_TRUE(decision);
            accepted += *decision != LotOutcome::not_accepted ? 1 : 0;
        }
        const double p = quality_point_of_lot({plan.numbers.n, plan.numbers.reject}, lot, bad)
                             .accept_probability;
        EXPECT_GT(p, 0.02);
        EXPECT_LT(p, 0.9999);
        EXPECT_NEAR(accepted, batches * p, 4.0 * std::sqrt(batches * p * (1.0 - p)))
            << bad << " bad, p " << p;
    }
}
