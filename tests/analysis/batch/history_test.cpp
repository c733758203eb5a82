#include "analysis/batch/history.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::batch;

namespace {

Batch decided(const std::string& id, LotOutcome outcome) {
    Batch batch;
    batch.id = id;
    batch.plan = *table_plan({280, "II", 1.0, Severity::normal}, "as asked");
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
    const std::vector<Batch> earlier(7, decided("B", LotOutcome::not_accepted));
    EXPECT_TRUE(severity_after(earlier, false)->stopped);
    EXPECT_EQ(
        severity_after(std::vector<Batch>(15, decided("B", LotOutcome::accepted)), true)->severity,
        Severity::reduced);
}
