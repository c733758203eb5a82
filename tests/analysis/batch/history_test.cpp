#include "analysis/batch/series/history.hpp"

#include "analysis/droplog/seal.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

Batch decided(const std::string& id, LotOutcome outcome) {
    OpenRequest request;
    request.id = id;
    for (int i = 0; i < 280; ++i)
        request.serials.push_back("U-" + std::to_string(i));
    request.profile = {"p", droplog::to_hex(droplog::sha256("text")), "text"};
    request.plan = *table_plan({280, "II", 1.0, Severity::normal}, "as asked");
    request.choice.seed = 1;
    Batch batch = *open_batch(std::move(request), {{1}, "2026-01-04T08:00:00Z"});
    batch.decision = BatchDecision{outcome, outcome == LotOutcome::not_accepted ? 9 : 0, ""};
    return batch;
}

} // namespace

TEST(History, TightensAfterTwoBatchesNotAccepted) {
    const std::vector<Batch> earlier{decided("B-1", LotOutcome::not_accepted),
                                     decided("B-2", LotOutcome::accepted),
                                     decided("B-3", LotOutcome::not_accepted)};
    const auto choice = severity_after(earlier, false);
    ASSERT_TRUE(choice);
    EXPECT_EQ(choice->severity, Severity::tightened);
    EXPECT_NE(choice->reason.find("3 earlier batches, 2 of them not accepted"), std::string::npos);
}

TEST(History, LeavesOutWhatIsNotDecidedAndSaysSo) {
    Batch open = decided("B-OPEN", LotOutcome::accepted);
    open.decision.reset();
    const std::vector<Batch> earlier{decided("B-1", LotOutcome::not_accepted), open};
    const auto choice = severity_after(earlier, false);
    ASSERT_TRUE(choice);
    EXPECT_EQ(choice->severity, Severity::normal);
    EXPECT_NE(choice->reason.find("B-OPEN"), std::string::npos);
}

TEST(History, StopsAfterFiveBatchesRefusedOnTightened) {
    const auto row = [](int count, LotOutcome outcome) {
        std::vector<Batch> all;
        for (int i = 0; i < count; ++i)
            all.push_back(decided("B-" + std::to_string(i), outcome));
        return all;
    };
    EXPECT_TRUE(severity_after(row(7, LotOutcome::not_accepted), false)->stopped);
    EXPECT_EQ(severity_after(row(15, LotOutcome::accepted), true)->severity, Severity::reduced);
}

// An accepted batch named again would make the next inspection easier.
TEST(History, RefusesABatchThatIsNamedTwice) {
    const Batch one = decided("B-1", LotOutcome::accepted);
    const auto choice = severity_after(std::vector<Batch>{one, one}, false);
    ASSERT_FALSE(choice);
    EXPECT_EQ(choice.error().what, "batch B-1 is named twice");
}
