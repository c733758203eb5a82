// Where a log may be written, and a disk without room.
#include "a_recorder.hpp"

#include <csignal>
#include <filesystem>

#include <sys/resource.h>

namespace dropledger::recorder {
namespace {

TEST_F(Recorder, NeverWritesOverALog) {
    files::put_content(path, "precious\n");
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_EQ(exit_status(summary.error().kind), 74);
    EXPECT_NE(summary.error().what.find("the log exists"), std::string::npos);
    EXPECT_EQ(log(), "precious\n");
}

TEST_F(Recorder, SaysWhyALogCannotBeMade) {
    path = "/proc/no-such-place/run.droplog";
    ASSERT_FALSE(run());
    files::put_content(folder / "file", "");
    path = folder / "file/run.droplog";
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_EQ(exit_status(summary.error().kind), 74);
    EXPECT_NE(summary.error().message().find(path), std::string::npos);
    EXPECT_FALSE(fake.moving());
}

// A file-size limit stands for a full disk: the write that crosses it is cut short, the next one
// fails.
class FullDisk {
public:
    explicit FullDisk(rlim_t bytes) : handler_(std::signal(SIGXFSZ, SIG_IGN)) {
        ::getrlimit(RLIMIT_FSIZE, &before_);
        const rlimit limit{bytes, before_.rlim_max};
        ::setrlimit(RLIMIT_FSIZE, &limit);
    }
    ~FullDisk() {
        ::setrlimit(RLIMIT_FSIZE, &before_);
        std::signal(SIGXFSZ, handler_);
    }
    FullDisk(const FullDisk&) = delete;
    FullDisk& operator=(const FullDisk&) = delete;

private:
    rlimit before_{};
    void (*handler_)(int);
};

TEST_F(Recorder, HaltsTheMotorsOnAFullDiskAndLosesNothing) {
    {
        const FullDisk full(4001);
        const auto summary = run(100);
        ASSERT_FALSE(summary);
        EXPECT_EQ(exit_status(summary.error().kind), 74);
        EXPECT_NE(summary.error().remedy.find("`resume`"), std::string::npos);
    }
    EXPECT_FALSE(fake.moving());
    EXPECT_TRUE(said("motors are halted"));
    EXPECT_TRUE(log().ends_with('\n'));
    EXPECT_LE(log().size(), 4001U);
    EXPECT_EQ(static_cast<std::int64_t>(droplog::decode(controller_lines(log()).back()).seq),
              fake.acknowledged());
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    EXPECT_TRUE(rest->as_planned);
    EXPECT_EQ(count_of(log(), "drop,"), 100U);
    EXPECT_EQ(fake.starts(), 2);
    expect_complete();
    expect_all_made();
}

// At every place in the last lines, in the last seal and in the close too.
TEST_F(Recorder, LosesNothingWhereverTheDiskIsFull) {
    ASSERT_TRUE(run(10));
    const std::size_t whole = log().size();
    for (std::size_t room = whole - 700; room < whole; room += 13) {
        std::filesystem::remove(path);
        FakeBench another;
        const Bench bench{[&] { return another.open(); }, another.clock};
        {
            const FullDisk full(room);
            RunPlan plan = plan_of(10);
            plan.start = another.leave();
            const auto summary = record(std::move(plan), path, bench, hooks);
            ASSERT_FALSE(summary) << room;
            EXPECT_EQ(exit_status(summary.error().kind), 74) << room;
        }
        ASSERT_FALSE(another.moving()) << room;
        ASSERT_TRUE(log().ends_with('\n')) << room;
        const auto kept = controller_lines(log());
        ASSERT_FALSE(kept.empty());
        ASSERT_LE(another.acknowledged(),
                  static_cast<std::int64_t>(droplog::decode(kept.back()).seq))
            << room;
        RunPlan close = plan_of(0);
        close.closes_unfinished = true;
        const auto rest = resume(std::move(close), path, bench, hooks);
        ASSERT_TRUE(rest) << room << ": " << rest.error().message();
        expect_complete();
    }
}

TEST_F(Recorder, LeavesNoHalfLogWhenTheDiskIsFullFromTheStart) {
    const FullDisk full(100);
    const auto summary = run();
    ASSERT_FALSE(summary);
    EXPECT_EQ(folder.entries(), 0);
    EXPECT_FALSE(fake.moving());
}

} // namespace
} // namespace dropledger::recorder
