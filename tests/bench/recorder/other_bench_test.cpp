// Another bench on the line of a run, or on that of a log that is gone on with.
#include "bench/recorder/protocol/lines/known_bench.hpp"

#include "a_recorder.hpp"

#include <fmt/format.h>

namespace dropledger::recorder {
namespace {

std::string hello_of(const std::string& fields, std::uint32_t seq = 7) {
    return droplog::encode(fmt::format("hello,{},1000,{}", seq, fields));
}

TEST(KnownBench, IsTheSameAfterAReset) {
    KnownBench bench;
    EXPECT_FALSE(bench.difference(hello_of("1,A,2,fw")));
    bench.keep(hello_of("1,A,2,fw"));
    EXPECT_FALSE(bench.difference(hello_of("1,A,2,fw", 12)));
    EXPECT_FALSE(bench.difference(hello_of("1,B,2,fw")));
}

TEST(KnownBench, IsAnotherByFirmwareChannelsProtocolOrABootThatWasOver) {
    KnownBench bench;
    bench.keep(hello_of("1,A,2,fw%201"));
    EXPECT_NE(bench.difference(hello_of("1,A,2,fw%202")).value_or("").find("`fw 2`"),
              std::string::npos);
    EXPECT_NE(bench.difference(hello_of("1,B,8,fw%201")).value_or("").find("8 channels"),
              std::string::npos);
    EXPECT_NE(bench.difference(hello_of("2,B,2,fw%201")).value_or("").find("protocol 2"),
              std::string::npos);
    bench.keep(hello_of("1,B,2,fw%201"));
    EXPECT_FALSE(bench.difference(hello_of("1,B,2,fw%201")));
    EXPECT_NE(bench.difference(hello_of("1,A,2,fw%201")).value_or("").find("boot A"),
              std::string::npos);
}

// The scripted bench goes on unheard while the other one has its line.
class OtherBench : public Recorder {
protected:
    OtherBench() {
        fake.wire = [this](std::string line) { return is_on_ ? "" : line; };
        fake.arrives = [this](const std::string& line) {
            if (is_on_)
                hear(line);
            return !is_on_;
        };
    }

    void plug_in(const std::string& hello) {
        is_on_ = true;
        hello_ = hello;
        for (std::uint32_t seq = 0; seq < 300; ++seq) // some have the numbers that are waited for
            fake.put(droplog::travel_line({seq, seq * 1000}, 1000) + '\n');
    }
    void unplug() { is_on_ = false; }
    [[nodiscard]] std::size_t other_heard(const std::string& beginning) const {
        return static_cast<std::size_t>(
            std::count_if(heard_.begin(), heard_.end(),
                          [&](const std::string& line) { return line.starts_with(beginning); }));
    }
    // A run of 60 drops, killed at the `drops`-th.
    void broken_off_run(const std::string& before) {
        fake.forgets = false;
        ASSERT_TRUE(run(60));
        const std::string whole = log();
        files::put_content(path, whole.substr(0, whole.find(before)));
    }
    void expect_refused(const Result<RunSummary>& outcome, const std::string& why) {
        ASSERT_FALSE(outcome);
        EXPECT_EQ(outcome.error().kind, ErrorKind::device);
        EXPECT_NE(outcome.error().what.find("not the bench of this log"), std::string::npos)
            << outcome.error().message();
        EXPECT_NE(outcome.error().what.find(why), std::string::npos) << outcome.error().message();
        EXPECT_EQ(count_of(log(), "@close,"), 0U);
        EXPECT_EQ(count_of(log(), "@ending,"), 0U);
        EXPECT_EQ(other_heard("go"), 0U);
        EXPECT_EQ(other_heard("arm"), 0U);
        EXPECT_EQ(other_heard("ack"), 0U);
        const auto& made = fake.made();
        for (const std::string& line : controller_lines(log()))
            EXPECT_NE(std::find(made.begin(), made.end(), line), made.end()) << line;
    }

private:
    void hear(const std::string& line) {
        heard_.push_back(line);
        if (line.starts_with("hello"))
            fake.put(hello_of(hello_, seq_++) + '\n');
        if (line.starts_with("resend"))
            fake.put(droplog::state_line({seq_++, 2000}, "refused", "gone") + '\n');
        if (line.starts_with("halt"))
            fake.put(droplog::state_line({seq_++, 2000}, "refused", "state") + '\n');
    }

    bool is_on_ = false;
    std::string hello_;
    std::uint32_t seq_ = 300;
    std::vector<std::string> heard_;
};

// 2026-11-26: the run ended as `reset`, with the other bench's lines in its log.
TEST_F(OtherBench, ThatAnswersAfterALostLineEndsNothingAndEntersNothing) {
    fake.at(2'000'000, [this] {
        fake.unplug(600'000);
        plug_in("1,X-9,1,another");
    });
    expect_refused(run(200), "`another`");
    EXPECT_GE(other_heard("halt"), 1U);
    EXPECT_FALSE(said("the motors are halted"));
    unplug();
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count"); // back within the two seconds
    EXPECT_EQ(fake.starts(), 1);
    expect_complete();
    expect_all_made();
}

TEST_F(OtherBench, ThatAnswersAResumedRunLeavesTheLogToTheRightOne) {
    broken_off_run("drop,");
    plug_in("1,X-9,4,fake");
    expect_refused(go_on(), "4 channels");
    unplug();
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_TRUE(summary->as_planned);
    expect_complete();
    expect_all_made();
}

TEST_F(OtherBench, DoesNotCloseALogWhoseRunHasEnded) {
    broken_off_run("@ending,");
    plug_in("1,X-9,1,another");
    expect_refused(go_on(), "`another`");
    unplug();
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    expect_complete();
}

// Its firmware is the same, but somebody has taken its first lines: no reset of this run's bench.
TEST_F(OtherBench, OfTheSameFirmwareIsKnownByLinesThatAreGone) {
    broken_off_run("drop,");
    plug_in("1,X-9,1,fake");
    expect_refused(go_on(), "has taken its first lines");
    unplug();
    const auto summary = go_on();
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    expect_complete();
}

} // namespace
} // namespace dropledger::recorder
