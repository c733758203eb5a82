#include "analysis/batch/chain/order.hpp"

#include "small_batch.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <functional>

using namespace dropledger;
using namespace dropledger::batch;

// Each rule broken by itself, by the code that a verification gives.
TEST(Order, FindsWhatCannotHaveHappened) {
    const auto codes = [](const std::function<void(TestedRun&, TestedRun&)>& change) {
        Batch batch = small();
        TestedRun first = run(batch, 0, "a", "within");
        batch.runs.push_back(first);
        TestedRun second = run(batch, 1, "b", "within");
        batch.runs.clear();
        change(first, second);
        batch.runs = {first, second};
        EXPECT_TRUE(batch.journal.append({{"kind", "add"}}, at(later)));
        std::string all;
        for (const Violation& one : violations(batch))
            all += one.code + " ";
        return all;
    };
    using Run = TestedRun&;
    EXPECT_EQ(codes([](Run, Run) {}), "");
    EXPECT_EQ(codes([](Run a, Run) { a.started = "2026-01-04T07:59:59Z"; }), "run_before_choice ");
    EXPECT_EQ(codes([](Run, Run b) { b.ended = "2026-01-05T08:59:59Z"; }),
              "run_ends_before_start ");
    EXPECT_EQ(codes([](Run, Run b) { b.ended = "2026-02-01T08:00:01Z"; }), "run_in_future ");
    EXPECT_EQ(codes([](Run, Run b) { b.ended = ""; }), "run_times_unknown ");
    EXPECT_EQ(codes([](Run a, Run b) { b.started = a.started; }), "runs_overlap ");
    EXPECT_EQ(codes([](Run a, Run b) {
                  a.ended = "2026-01-05T10:00:00Z";
                  b.signed_by = "another";
              }),
              "");
    EXPECT_EQ(codes([](Run a, Run b) {
                  a.ended = "2026-01-05T10:00:00Z";
                  b.signed_by = "another";
                  a.conditions.bench = b.conditions.bench = "bench-1";
              }),
              "runs_overlap ");
    EXPECT_EQ(codes([](Run, Run b) { b.simulated = true; }), "run_simulated ");
    EXPECT_EQ(codes([](Run, Run b) { b.signed_by = ""; }), "log_unsigned ");
    EXPECT_EQ(codes([](Run a, Run b) { a.stream = b.stream = "same"; }), "same_stream ");
    EXPECT_EQ(codes([](Run a, Run b) {
                  a.boots = {{"7F", 0, 900}};
                  b.boots = {{"7F", 901, 1800}};
              }),
              ""); // a controller may make several runs in one boot
    EXPECT_EQ(codes([](Run a, Run b) {
                  a.boots = {{"7F", 0, 900}};
                  b.boots = {{"7F", 900, 1800}};
              }),
              "same_boot ");
    EXPECT_EQ(codes([](Run a, Run b) { a.run_number = b.run_number = 4; }), "same_number ");
    EXPECT_EQ(codes([](Run a, Run b) {
                  a.run_number = 9;
                  b.run_number = 4;
              }),
              "number_order ");
    EXPECT_EQ(codes([](Run a, Run b) {
                  a.run_number = 4;
                  b.run_number = 5;
                  a.last_seal = "aa";
                  b.previous_seal = "bb";
              }),
              "seal_order ");
}

TEST(Order, NamesTheRunsThatAreNotThere) {
    std::vector<TestedRun> runs(4);
    runs[0].run_number = 7;
    runs[1].run_number = 3;
    runs[2].run_number = 4;
    runs[3].run_number = 90;
    runs[3].signed_by = "another key";
    const auto missing = missing_runs(runs);
    ASSERT_EQ(missing.size(), 1U);
    EXPECT_EQ(missing[0].first, 5);
    EXPECT_EQ(missing[0].last, 6);
}
