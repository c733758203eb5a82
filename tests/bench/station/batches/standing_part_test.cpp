#include "bench/station/batches/standing_part.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

using namespace dropledger;
using namespace dropledger::station;
using nlohmann::json;

namespace {

json state(const std::vector<std::string>& untested = {},
           const std::vector<std::string>& open = {}) {
    return json{
        {"size", 6},
        {"profile", {{"name", "short <b>"}}},
        {"plan",
         {{"samples", nullptr}, {"measured", nullptr}, {"n", 3}, {"accept", 0}, {"reject", 1}}},
        {"rehearsal", false},
        {"opening", "0123"},
        {"choice", {{"seed", "7"}}},
        {"chosen", {"U-1", "U-2", "U-3"}},
        {"standing",
         {{"conforming", {"U-1"}},
          {"nonconforming", json::array()},
          {"undecided", open},
          {"untested", untested}}},
        {"decision", nullptr},
        {"can_be_decided", untested.empty() && open.empty()},
        {"revoked", json::array()},
        {"runs", json::array()},
        {"notes", json::array()}};
}

json run(const std::string& file) {
    return {{"unit", "U-<1>"}, {"outcome", "within"},  {"drops", 300},      {"file", file},
            {"counted", true}, {"taken_out", nullptr}, {"held_back", "no"}, {"reason", ""}};
}

using Texts = std::vector<std::string>;

} // namespace

TEST(WhatABatchLacks, BeginsWithTheBuyersPart) {
    json unchosen = state();
    unchosen["choice"]["seed"] = nullptr;
    unchosen["chosen"] = json::array();
    EXPECT_EQ(missing_in(unchosen, ".").front(),
              "The buyer's part of the choice: no unit is chosen before it.");
}

TEST(WhatABatchLacks, IsRunsOfUnitsThatHaveNoneAndOfThoseThatDecideNothing) {
    EXPECT_EQ(missing_in(state({"U-2"}, {"U-3"}), "."),
              (Texts{"Signed runs of 1 unit, to be tested next: U-2.",
                     "More drops of 1 unit whose runs decide nothing yet: U-3."}));
    EXPECT_EQ(next_units(state({"U-2"}, {"U-3"})), (Texts{"U-2", "U-3"}));
}

TEST(WhatABatchLacks, IsTheDecisionAloneWhereAllElseIsHere) {
    EXPECT_EQ(missing_in(state(), "."),
              Texts{"The decision: everything that it rests on is here."});
}

TEST(WhatABatchLacks, IsALogThatLeftTheFolderAndWhatNoCertificateCanRestOn) {
    const files::TemporaryFolder folder;
    files::put_content(folder / "here.droplog", "");
    json decided = state();
    decided["decision"] = "accepted";
    decided["runs"] = {run("here.droplog"), run("gone.droplog"), run("gone.droplog")};
    decided["notes"] = {"run 3 is not signed"};
    EXPECT_EQ(missing_in(decided, folder / ""),
              (Texts{"run 3 is not signed",
                     "The log gone.droplog is not in this folder: certificate and pack need it."}));
    decided["runs"] = {run("here.droplog")};
    decided["notes"] = json::array();
    EXPECT_EQ(missing_in(decided, folder / ""), Texts{});
    EXPECT_EQ(missing_part({}), "");
}

// A second sample that is tested without need changes the decision.
TEST(WhatABatchLacks, IsOfTwoSamplesTheFirstUntilItIsInDoubt) {
    json two = state({"U-2", "U-3"});
    two["plan"]["samples"] = {{"n1", 2}, {"accept1", 0}, {"reject1", 2}, {"n2", 1}, {"accept2", 1}};
    EXPECT_EQ(next_units(two), Texts{"U-2"});
    EXPECT_EQ(missing_in(two, ".").front(), "Signed runs of 1 unit, to be tested next: U-2.");
    two["standing"]["untested"] = {"U-3"};
    EXPECT_EQ(next_units(two), Texts{"U-3"});
    two["can_be_decided"] = true;
    EXPECT_EQ(next_units(two), Texts{});
    EXPECT_EQ(decision_words(two), "Open: it can be decided now.");
}

TEST(WhatABatchLacks, IsNothingMoreWhereEnoughUnitsFailedAlready) {
    json failed = state({"U-2", "U-3"});
    failed["can_be_decided"] = true;
    EXPECT_EQ(missing_in(failed, "."), Texts{"The decision: everything that it rests on is here."});
}

TEST(WhatABatchLacks, IsNeverSilentWhileItCannotBeDecided) {
    json held = state();
    held["can_be_decided"] = false;
    EXPECT_EQ(missing_in(held, "."),
              Texts{"More runs: the plan can't decide by those that are here."});
}

TEST(ABatchsStanding, SaysThatACertificateWasTakenBack) {
    json taken = state();
    taken["decision"] = "accepted";
    taken["revoked"] = {{{"certificate", "C-1"},
                         {"sha256", "00"},
                         {"cause", "wrong_evidence"},
                         {"text", "<b>"},
                         {"at", "2026-05-02T10:00:00Z"}}};
    EXPECT_EQ(taken_back(taken),
              Texts{"Certificate C-1 was taken back on 2026-05-02 (wrong evidence): <b>"});
    EXPECT_NE(standing_part(taken).find("(wrong evidence): &lt;b&gt;"), std::string::npos);
}

TEST(ABatchsStanding, SaysHowManyUnitsHaveARunThatDecides) {
    const std::string text = standing_part(state({"U-2"}, {"U-3"}));
    EXPECT_NE(text.find("1 of 3 chosen units have a run that decides"), std::string::npos);
    EXPECT_NE(text.find("rect width=\"333\""), std::string::npos);
    EXPECT_EQ(text.find("<b>"), std::string::npos);
}

TEST(ABatchsRuns, SayWhyOneDoesNotCount) {
    json all = state();
    json spoilt = run("a.droplog");
    spoilt["taken_out"] = {{"cause", "gate_fault"}};
    json halted = run("b.droplog");
    halted["held_back"] = "halted_early";
    all["runs"] = {spoilt, halted};
    const std::string text = runs_part(all);
    EXPECT_NE(text.find("taken out of the count"), std::string::npos);
    EXPECT_NE(text.find("halted early"), std::string::npos);
    EXPECT_EQ(text.find("<1>"), std::string::npos);
    EXPECT_EQ(runs_part(state()), "");
}
