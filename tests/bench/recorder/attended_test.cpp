// The dead man's rule as far as it is about a person: no `alive` where nobody stands by.
#include "a_recorder.hpp"

#include <algorithm>

namespace dropledger::recorder {
namespace {

class Attended : public Recorder {
protected:
    Result<RunSummary> run_attended(std::function<bool()> attended) {
        hooks.attended = std::move(attended);
        return run(300);
    }
    // `alive` lines that came after the first `halt`.
    [[nodiscard]] std::ptrdiff_t alive_after_halt() const {
        const auto& heard = fake.heard();
        const auto halt = std::find_if(heard.begin(), heard.end(), [](const std::string& line) {
            return line.starts_with("halt");
        });
        return std::count_if(halt, heard.end(),
                             [](const std::string& line) { return line.starts_with("alive"); });
    }
};

TEST_F(Attended, HaltsTheMotorsOnceNobodyStandsByAndLeavesTheRestToAnotherStart) {
    bool there = true;
    fake.at(2'000'000, [&] { there = false; });
    std::int64_t halted_us = 0;
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("halt") && halted_us == 0)
            halted_us = fake.now_us();
        return true;
    };
    const auto summary = run_attended([&] { return there; });
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "host");
    EXPECT_TRUE(summary->left_open);
    EXPECT_FALSE(summary->as_planned);
    EXPECT_FALSE(fake.moving());
    EXPECT_GE(halted_us, 2'000'000);
    EXPECT_LE(halted_us, 2'300'000); // the next `alive` that was due
    EXPECT_EQ(alive_after_halt(), 0);
    EXPECT_TRUE(said("nobody stands by any more"));
    hooks.attended = [] { return true; };
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    EXPECT_TRUE(rest->as_planned);
    EXPECT_EQ(count_of(log(), "drop,"), 300U);
    expect_complete();
}

TEST_F(Attended, SaysNoAliveWhereTheHaltIsLostAndLeavesTheRestToTheController) {
    bool there = true;
    fake.at(2'000'000, [&] { there = false; });
    fake.arrives = [](const std::string& line) { return !line.starts_with("halt"); };
    const auto summary = run_attended([&] { return there; });
    EXPECT_FALSE(fake.moving());
    EXPECT_EQ(count_of(log(), "halted,"), 1U);
    EXPECT_NE(log().find("host_silent"), std::string::npos);
}

TEST_F(Attended, DoesNotGoOnWithWhoeverComesBack) {
    bool there = true;
    fake.at(2'000'000, [&] { there = false; });
    fake.at(2'400'000, [&] { there = true; });
    const auto summary = run_attended([&] { return there; });
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "host");
    EXPECT_EQ(alive_after_halt(), 0);
    EXPECT_EQ(fake.starts(), 1);
}

TEST_F(Attended, GoesOnToTheEndWhileSomebodyStandsBy) {
    hooks.attended = [] { return true; };
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
}

} // namespace
} // namespace dropledger::recorder
