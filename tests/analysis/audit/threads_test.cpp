// What an audit works out side by side comes out the same each time. Two threads that touch the same
// thing show under the thread sanitizer (`ctest --preset tsan`), not by their results.
#include "analysis/report/json/audit_json.hpp"
#include "tests/analysis/audit/sample.hpp"

#include <gtest/gtest.h>

namespace dropledger::audit {

// 26 November: drops and spacings of a unit, worked out at once, both asked its entries for a share
// that these keep; only where misses hang together is it asked for by both.
TEST(AuditThreads, TellUnitsWhoseMissesComeInRowsTheSameEveryTime) {
    const sample::Run run{.channels = 6, .in_rows = true};
    const AuditReport first = sample::report_of(run);
    ASSERT_FALSE(first.channels.front().drops()->misses_independence.holds);
    const std::string said = report::to_json(first);
    for (int again = 0; again < 10; ++again)
        EXPECT_EQ(report::to_json(sample::report_of(run)), said);
}

} // namespace dropledger::audit
