#include "analysis/batch/batch.hpp"

#include "analysis/batch/batch_file.hpp"
#include "analysis/batch/choice.hpp"
#include "analysis/droplog/seal.hpp"
#include "analysis/sampling/operating_characteristic.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

std::vector<std::string> serials(int count) {
    std::vector<std::string> all;
    for (int i = 1; i <= count; ++i)
        all.push_back("U-" + std::to_string(i));
    return all;
}

Batch opened(int lot, const BatchPlan& plan, std::uint64_t seed = 1) {
    OpenRequest request;
    request.id = "B-1";
    request.opened = "2026-01-04T08:00:00Z";
    request.serials = serials(lot);
    request.profile = {"p", droplog::to_hex(droplog::sha256("text")), "text"};
    request.plan = plan;
    request.seed = seed;
    return *open_batch(std::move(request));
}

// Three of six units, at most one nonconforming.
Batch small() {
    return opened(6, *own_plan(6, 3, 1));
}

TestedRun run(const Batch& batch, std::size_t unit, const std::string& name,
              const std::string& outcome) {
    TestedRun run;
    run.unit = batch.chosen.at(unit);
    run.run = "run-" + name;
    run.file = name + ".droplog";
    run.sha256 = "hash-" + name;
    run.outcome = verdict::outcome_of(outcome).value();
    run.drops = 100;
    run.misses = outcome == "outside" ? 30 : 2;
    return run;
}

void add(Batch& batch, const TestedRun& run, const std::string& reason = "") {
    const Status added = add_runs(batch, {run}, reason);
    EXPECT_TRUE(added) << added.error().message();
}

std::string why_not(Batch& batch, const TestedRun& run, const std::string& reason = "") {
    const std::size_t before = batch.runs.size();
    const Status added = add_runs(batch, {run}, reason);
    EXPECT_EQ(batch.runs.size(), before);
    return added ? "" : added.error().message();
}

} // namespace

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
                EXPECT_TRUE(make_void(batch, {last, std::nullopt, "the guard opened"}));
                continue;
            }
            const TestedRun next = run(batch, 0, std::to_string(batch.runs.size()), step);
            last = next.run;
            add(batch, next, "asked for");
        }
        const Standing found = standing(batch.chosen, batch.runs);
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
    EXPECT_FALSE(make_void(batch, {"run-a", std::nullopt, ""}));
    EXPECT_FALSE(make_void(batch, {"run-z", std::nullopt, "why"}));
    EXPECT_FALSE(make_void(batch, {"run-a", "U-999", "why"}));
    EXPECT_TRUE(make_void(batch, {"run-a", std::nullopt, "hopper lid open"}));
    EXPECT_FALSE(make_void(batch, {"run-a", std::nullopt, "again"}));
    ASSERT_EQ(batch.runs.size(), 1U);
    EXPECT_FALSE(batch.runs[0].counted);
    EXPECT_EQ(batch.runs[0].reason, "void: hopper lid open");
}

TEST(Batch, DecidesOnlyWhenItCan) {
    Batch batch = small();
    const auto decision = [&] {
        return decision_of(batch.plan.numbers, standing(batch.chosen, batch.runs));
    };
    EXPECT_FALSE(decision());
    add(batch, run(batch, 0, "a", "within"));
    add(batch, run(batch, 1, "b", "outside"));
    EXPECT_FALSE(decision());
    Batch refused = batch;
    add(batch, run(batch, 2, "c", "within"));
    EXPECT_EQ(*decision(), LotOutcome::accepted);
    // Two nonconforming decide though a unit is missing.
    add(refused, run(refused, 0, "d", "outside"), "again");
    EXPECT_EQ(*decision_of(refused.plan.numbers, standing(refused.chosen, refused.runs)),
              LotOutcome::not_accepted);
    batch.decision = BatchDecision{LotOutcome::accepted, 1, "2026-02-01T00:00:00Z"};
    EXPECT_NE(why_not(batch, run(batch, 0, "e", "within"), "x").find("it is decided"),
              std::string::npos);
    EXPECT_FALSE(make_void(batch, {"run-a", std::nullopt, "late"}));
}

TEST(Batch, TakesAllUnitsOfALogOrNone) {
    Batch batch = small();
    TestedRun first = run(batch, 0, "a", "within");
    TestedRun second = first;
    second.channel = 1;
    second.unit = "X-1";
    EXPECT_FALSE(add_runs(batch, {first, second}, ""));
    EXPECT_TRUE(batch.runs.empty());
    second.unit = batch.chosen[1];
    EXPECT_TRUE(add_runs(batch, {first, second}, ""));
    EXPECT_EQ(batch.runs.size(), 2U);
}

TEST(Batch, RefusesSerialsThatAreNotTheLots) {
    OpenRequest request;
    request.plan = *own_plan(3, 2, 0);
    request.serials = {"A", "B"};
    EXPECT_NE(open_batch(request).error().what.find("the lot has 3"), std::string::npos);
    request.serials = {"A", "B", "A"};
    EXPECT_NE(open_batch(request).error().what.find("twice"), std::string::npos);
    request.serials = {"A", "B", ""};
    EXPECT_FALSE(open_batch(request));
    EXPECT_FALSE(own_plan(3, 4, 0));
    EXPECT_FALSE(own_plan(3, 2, 2));
}

TEST(BatchFile, ReadsWhatItWroteAndRefusesWhatWasTamperedWith) {
    Batch batch = opened(280, *table_plan({280, "II", 1.0, Severity::normal}, "as asked"), 99);
    add(batch, run(batch, 0, "a", "within"));
    EXPECT_TRUE(add_calibration(batch, {"CAL", "cal.toml", "ff", "2027-01-01"}));
    EXPECT_TRUE(add_calibration(batch, {"CAL", "cal.toml", "ff", "2027-01-01"}));
    EXPECT_FALSE(add_calibration(batch, {"CAL", "cal.toml", "ee", "2027-01-01"}));
    const std::string text = to_text(batch);
    const auto again = parse_batch(text, "b");
    ASSERT_TRUE(again) << again.error().message();
    EXPECT_EQ(to_text(*again), text);

    const auto with = [&](const std::string& old, const std::string& fresh) {
        std::string changed = text;
        changed.replace(changed.find(old), old.size(), fresh);
        const auto read = parse_batch(changed, "b");
        return read ? std::string{} : read.error().message();
    };
    EXPECT_NE(with("\"seed\": \"99\"", "\"seed\": \"98\"").find("seed chooses"), std::string::npos);
    EXPECT_NE(with("\"text\": \"text\"", "\"text\": \"lax\"").find("sha256"), std::string::npos);
    EXPECT_NE(with("\"n\": 50", "\"n\": 5").find("plan's n"), std::string::npos);
    EXPECT_NE(with("\"decision\": null",
                   "\"decision\": {\"outcome\": \"accepted\", \"nonconforming\": 0, "
                   "\"decided\": \"\"}")
                  .find("does not follow"),
              std::string::npos);
    EXPECT_NE(with("\"within\"", "\"fine\"").find("unknown outcome"), std::string::npos);
    EXPECT_NE(parse_batch("[]", "b").error().what.find("version"), std::string::npos);
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
            Batch batch = opened(lot, plan, ++seed);
            const auto units = chosen_units(batch.serials, bad, ~seed); // those that are bad
            for (std::size_t k = 0; k < batch.chosen.size(); ++k) {
                const bool is_bad =
                    std::find(units.begin(), units.end(), batch.chosen[k]) != units.end();
                batch.runs.push_back(
                    run(batch, k, std::to_string(k), is_bad ? "outside" : "within"));
            }
            const auto decision =
                decision_of(batch.plan.numbers, standing(batch.chosen, batch.runs));
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
