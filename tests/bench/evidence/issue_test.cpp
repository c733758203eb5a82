#include "bench/evidence/verify/issue.hpp"

#include "verifying.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

using namespace dropledger;
using namespace dropledger::evidence;

TEST(Issue, GivesOutNothingThatWouldNotVerify) {
    IssueRequest how = how_issued();
    batch::Batch open = sample().batch;
    open.decision.reset();
    EXPECT_EQ(issue(open, sample().folder(), how).error().what, "it is not decided");
    how.key = stranger;
    const auto issued = issue(sample().batch, sample().folder(), how);
    ASSERT_TRUE(issued);
    ASSERT_EQ(issued->failures.size(), 3U); // both logs, and the entries of the batch file
    EXPECT_EQ(issued->failures[0].code, "log_other_key");
    EXPECT_EQ(issued->failures[2].code, "entry_other_key");
    how.bench_keys = {hex_of(bench_key)};
    EXPECT_TRUE(issue(sample().batch, sample().folder(), how)->failures.empty());
    Sample spoilt = copy();
    spoilt.files->erase("run0.droplog");
    EXPECT_EQ(issue(spoilt.batch, spoilt.folder(), how)->failures.at(0).code, "log_missing");
}

TEST(Issue, CertifiesARejectionOnlyWhereAskedTo) {
    const auto all_bad = [](Files& files) {
        const auto units = sample().batch.chosen;
        files["run0.droplog"] = log_of({units[0], 1, 0.40, bench_key, started_of(0)});
        files["run1.droplog"] = log_of({units[1], 2, 0.40, bench_key, started_of(1)});
    };
    try {
        static_cast<void>(made(all_bad));
        FAIL();
    } catch (const std::runtime_error& refused) {
        EXPECT_NE(std::string{refused.what()}.find("it was not accepted"), std::string::npos);
    }
}
