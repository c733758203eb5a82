// What happens to the log's disk and file while a run is on, and what a power cut leaves of it.
#include "bench/recorder/protocol/recovery.hpp"

#include "a_recorder.hpp"

#include "bench/recorder/imprint.hpp"

#include <array>
#include <cerrno>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>

#include <fcntl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

namespace {

// What fdatasync does in this program: nothing special where it is empty.
std::function<int(int)> disk;        // NOLINT: stands for the machine's
std::function<int(int)> folder_disk; // NOLINT: the same for fsync, which is the folder's

} // namespace

extern "C" int fsync(int handle) {
    return folder_disk ? folder_disk(handle) : static_cast<int>(::syscall(SYS_fsync, handle));
}

extern "C" int fdatasync(int handle) {
    return disk ? disk(handle) : static_cast<int>(::syscall(SYS_fdatasync, handle));
}

namespace dropledger::recorder {
namespace {

class LogInDanger : public Recorder {
protected:
    ~LogInDanger() override { disk = folder_disk = {}; }
    void expect_nothing_acknowledged_that_the_log_lacks() const {
        const auto kept = controller_lines(log());
        ASSERT_FALSE(kept.empty());
        EXPECT_LE(fake.acknowledged(), static_cast<std::int64_t>(droplog::decode(kept.back()).seq));
    }
    void in_mid_run(const std::function<void()>& mischief) { fake.at(2'000'000, mischief); }
};

// 2026-11-25: after EIO the unsynced bytes stayed in the file and were acknowledged by --resume.
TEST_F(LogInDanger, IsCutBackToItsLastSyncWhenOneFails) {
    std::uint64_t synced = 0;
    int syncs = 0;
    disk = [&](int handle) {
        if (++syncs > 30) {
            errno = EIO;
            return -1;
        }
        synced = std::filesystem::file_size(path);
        return static_cast<int>(::syscall(SYS_fdatasync, handle));
    };
    const auto summary = run(100);
    ASSERT_FALSE(summary);
    EXPECT_EQ(exit_status(summary.error().kind), 74);
    EXPECT_NE(summary.error().message().find(path), std::string::npos);
    EXPECT_EQ(log().size(), synced);
    EXPECT_FALSE(fake.moving());
    EXPECT_TRUE(said("motors are halted"));
    expect_nothing_acknowledged_that_the_log_lacks();
    disk = {};
    const auto rest = go_on();
    ASSERT_TRUE(rest) << rest.error().message();
    EXPECT_EQ(fake.starts(), 2);
    EXPECT_EQ(count_of(log(), "drop,"), 100U);
    expect_complete();
    expect_all_made();
}

TEST_F(LogInDanger, LeavesNoEmptyLogBehindWhenItsNameCannotBeSynced) {
    folder_disk = [](int) {
        errno = EIO;
        return -1;
    };
    ASSERT_FALSE(run());
    EXPECT_EQ(folder.entries(), 0);
}

TEST_F(LogInDanger, StartsNothingWhenTheOrderCannotBeSynced) {
    disk = [&](int) {
        errno = EIO;
        return log().find("@sent,go") == std::string::npos ? 0 : -1;
    };
    ASSERT_FALSE(run());
    EXPECT_EQ(ordered("go"), 0U);
    EXPECT_EQ(fake.starts(), 0);
}

// 2026-11-25: a disk slower than 2 s stopped `alive`, and so the run.
TEST_F(LogInDanger, OutlivesASlowDiskAndNamesIt) {
    bool slow = false;
    in_mid_run([&] { slow = true; });
    disk = [&](int handle) {
        if (std::exchange(slow, false))
            fake.clock.wait(Microseconds{8'000'000});
        return static_cast<int>(::syscall(SYS_fdatasync, handle));
    };
    const auto summary = run(300);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    EXPECT_TRUE(said("the disk under " + path + " is slow"));
    EXPECT_EQ(count_of(log(), "drop,"), 300U);
    expect_complete();
}

TEST_F(LogInDanger, HaltsTheRunWhenItsRecorderStandsStillTooLong) {
    bool stuck = false;
    std::int64_t halted_us = 0;
    in_mid_run([&] { stuck = true; });
    fake.arrives = [&](const std::string& line) {
        if (line.starts_with("halt") && halted_us == 0)
            halted_us = fake.now_us();
        return true;
    };
    disk = [&](int handle) {
        if (std::exchange(stuck, false))
            fake.clock.wait(Microseconds{60'000'000});
        return static_cast<int>(::syscall(SYS_fdatasync, handle));
    };
    const auto summary = run(3000);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "held_up");
    EXPECT_GT(halted_us, 11'900'000);
    EXPECT_LT(halted_us, 12'600'000); // 10 s after 2 s, and a tick
    EXPECT_TRUE(said("look at the disk under " + path));
    EXPECT_FALSE(fake.moving());
    expect_complete();
}

TEST_F(LogInDanger, IsMissedByTheControllerItselfWhenTheHaltDoesNotArrive) {
    bool stuck = false;
    in_mid_run([&] { stuck = true; });
    fake.arrives = [&](const std::string& line) { return !line.starts_with("halt"); };
    disk = [&](int handle) {
        if (std::exchange(stuck, false))
            fake.clock.wait(Microseconds{60'000'000});
        return static_cast<int>(::syscall(SYS_fdatasync, handle));
    };
    const auto summary = run(3000);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(count_of(log(), "halted,"), 1U);
    EXPECT_NE(log().find(",host_silent*"), std::string::npos);
}

TEST_F(LogInDanger, OutlivesAScreenThatIsHeld) {
    bool held = false;
    in_mid_run([&] { held = true; });
    hooks.progress = [&](const LiveTally&) {
        if (std::exchange(held, false))
            fake.clock.wait(Microseconds{8'000'000});
    };
    const auto summary = run(300);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_EQ(summary->end_reason, "count");
    expect_complete();
}

void write_over(const std::string& path) {
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(200);
    file.put('~');
}

void date(const std::string& path, std::int64_t unix_s) {
    const timespec at{unix_s, 0};
    const std::array<timespec, 2> times{at, at};
    EXPECT_EQ(::utimensat(AT_FDCWD, path.c_str(), times.data(), 0), 0);
}

struct Mischief {
    const char* name;
    std::function<void(const std::string& path)> work;
    const char* told;
    bool keeps_log; // under its name
};

class TouchedLog : public LogInDanger, public testing::WithParamInterface<Mischief> {};

TEST_P(TouchedLog, EndsTheRunAndLosesNothing) {
    in_mid_run([this] { GetParam().work(path); });
    std::int64_t acknowledged_then = 0;
    in_mid_run([&] { acknowledged_then = fake.acknowledged(); });
    const auto summary = run(200);
    ASSERT_FALSE(summary);
    EXPECT_EQ(exit_status(summary.error().kind), 74);
    EXPECT_NE(summary.error().what.find(GetParam().told), std::string::npos)
        << summary.error().what;
    EXPECT_FALSE(fake.moving());
    EXPECT_EQ(fake.acknowledged(), acknowledged_then);
    if (!GetParam().keeps_log) {
        EXPECT_FALSE(std::filesystem::exists(path) && log() != "precious\n");
    }
}

INSTANTIATE_TEST_SUITE_P(
    Ways, TouchedLog,
    testing::Values(
        Mischief{"Moved",
                 [](const std::string& path) { std::filesystem::rename(path, path + ".old"); },
                 "moved or deleted", false},
        Mischief{"Deleted", [](const std::string& path) { std::filesystem::remove(path); },
                 "moved or deleted", false},
        Mischief{"Replaced",
                 [](const std::string& path) {
                     std::filesystem::rename(path, path + ".old");
                     files::put_content(path, "precious\n");
                 },
                 "another file stands in", false},
        Mischief{"Truncated",
                 [](const std::string& path) { std::filesystem::resize_file(path, 100); },
                 "has cut the log", true},
        Mischief{"AddedTo",
                 [](const std::string& path) {
                     files::put_content(path, content_of(path) + "precious\n");
                 },
                 "has added to the log", true},
        // 2026-11-26: bytes of the same number went unnoticed.
        Mischief{"WrittenOver",
                 [](const std::string& path) {
                     write_over(path);
                     date(path, 1'000'000'000); // as if a tick of the disk's clock had passed
                 },
                 "has written over the log", true}),
    [](const auto& row) { return std::string(row.param.name); });

TEST_F(LogInDanger, IsReadWholeBeforeItIsClosedWhateverItsTimesSay) {
    bool once = false;
    fake.wire = [&](std::string line) {
        if (line.starts_with("halted,") && !std::exchange(once, true))
            write_over(path);
        return line;
    };
    const auto summary = run(20);
    ASSERT_FALSE(summary);
    EXPECT_NE(summary.error().what.find("has written over the log"), std::string::npos);
    EXPECT_EQ(count_of(log(), "@close,"), 0U);
}

TEST_F(LogInDanger, MayBeLinkedAndDatedAnewWhileItIsWritten) {
    in_mid_run([this] {
        std::filesystem::create_hard_link(path, path + ".copy");
        date(path, 1'000'000'000);
    });
    const auto summary = run(100);
    ASSERT_TRUE(summary) << summary.error().message();
    EXPECT_TRUE(summary->as_planned);
    expect_complete();
}

TEST(Imprint, GivesItsKnownValues) { // FNV-1a, 64 bit: the authors' test vectors, from memory
    const auto of = [](std::string_view text) {
        Imprint imprint;
        imprint.add(text);
        return imprint.value();
    };
    EXPECT_EQ(of(""), 0xcbf29ce484222325U);
    EXPECT_EQ(of("a"), 0xaf63dc4c8601ec8cU);
    EXPECT_EQ(of("foobar"), 0x85944171f73967e8U);
}

TEST_F(LogInDanger, TakesNoFileAwayThatIsNotItsOwn) {
    fake.mute();
    fake.unplug(0);
    in_mid_run([this] {
        std::filesystem::rename(path, path + ".old");
        files::put_content(path, "precious\n");
    });
    ASSERT_FALSE(run());
    EXPECT_EQ(log(), "precious\n");
}

// A log that broke off behind its last seal, and where its lines stand.
class BrokenLog : public LogInDanger {
protected:
    BrokenLog() {
        fake.forgets = false; // as if nothing had been acknowledged of what is cut off
        EXPECT_TRUE(run(60));
        whole = log().substr(0, log().rfind("@close"));
        sealed = whole.substr(0, whole.rfind("@seal"));
    }
    void punch(std::string text, std::size_t from, std::size_t size) {
        text.replace(from, size, size, '\0');
        files::put_content(path, text);
    }
    std::string whole;
    std::string sealed; // without its last seal
};

// 2026-11-25: only a torn last line was cut off, a hole before it made the log useless.
TEST_F(BrokenLog, IsCutAtAHoleOfZerosAndGoesOnThere) {
    for (std::size_t at = sealed.size() - 1500; at < sealed.size() - 20; at += 97) {
        const std::size_t size = std::min<std::size_t>(512, sealed.size() - at - 5);
        punch(sealed, at, size);
        const auto found = recover(path);
        ASSERT_TRUE(found) << at << ": " << found.error().message();
        ASSERT_EQ(found->whole_bytes, sealed.rfind('\n', at - 1) + 1) << at;
        ASSERT_EQ(found->whole_bytes + found->torn_bytes, sealed.size()) << at;
        const auto rest = go_on();
        ASSERT_TRUE(rest) << at << ": " << rest.error().message();
        ASSERT_EQ(rest->end_reason, "count");
        ASSERT_EQ(count_of(log(), "drop,"), 60U);
        ASSERT_EQ(integrity_of(log()).lines.damaged, 0U);
        expect_complete();
    }
    EXPECT_EQ(fake.starts(), 1);
}

TEST_F(BrokenLog, SaysWhatWasCutOff) {
    punch(sealed, sealed.size() - 700, 300);
    ASSERT_TRUE(go_on());
    EXPECT_EQ(count_of(log(), "@note,"), 1U);
}

TEST_F(BrokenLog, IsNotCutWhereASealStandsBehindTheBreak) {
    punch(whole, whole.size() - 700, 300);
    const std::string before = log();
    const auto found = recover(path);
    ASSERT_FALSE(found);
    EXPECT_NE(found.error().what.find("seal"), std::string::npos);
    EXPECT_FALSE(go_on());
    EXPECT_EQ(log(), before);
}

TEST_F(BrokenLog, MayHoldAHoleLargerThanAnyMemoryOfOurs) {
    files::put_content(path, sealed);
    std::filesystem::resize_file(path, std::uint64_t{1} << 28U);
    const auto found = recover(path);
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->whole_bytes, sealed.size());
    EXPECT_EQ(found->whole_bytes + found->torn_bytes, std::uint64_t{1} << 28U);
}

} // namespace
} // namespace dropledger::recorder
