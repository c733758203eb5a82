#include "bench/io/write_aside.hpp"

#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <unistd.h>

#include <atomic>
#include <csignal>
#include <string>
#include <thread>
#include <vector>

using namespace dropledger;
using namespace dropledger::files;

TEST(WriteFileAside, MakesAndReplacesAFileAndLeavesNothingBeside) {
    const TemporaryFolder folder;
    ASSERT_TRUE(write_file_aside(folder / "a", "first, and longer"));
    EXPECT_EQ(content_of(folder / "a"), "first, and longer");
    ASSERT_TRUE(write_file_aside(folder / "a", "second"));
    EXPECT_EQ(content_of(folder / "a"), "second");
    EXPECT_EQ(folder.entries(), 1);
}

TEST(WriteFileAside, KeepsTheOldContentWhereTheNewDoesNotFit) {
    const TemporaryFolder folder;
    put_content(folder / "a", "old");
    rlimit before{};
    ASSERT_EQ(::getrlimit(RLIMIT_FSIZE, &before), 0);
    const auto handler = std::signal(SIGXFSZ, SIG_IGN);
    const rlimit small{1000, before.rlim_max};
    ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &small), 0);
    const Status status = write_file_aside(folder / "a", std::string(5000, 'x'));
    ::setrlimit(RLIMIT_FSIZE, &before);
    static_cast<void>(std::signal(SIGXFSZ, handler));
    ASSERT_FALSE(status);
    EXPECT_EQ(status.error().kind, ErrorKind::device);
    EXPECT_EQ(content_of(folder / "a"), "old");
    EXPECT_EQ(folder.entries(), 1);
}

TEST(WriteFileAside, TellsAFullDisk) {
    const Status status = write_file_aside("/dev/full", "x");
    ASSERT_FALSE(status);
    EXPECT_EQ(status.error().kind, ErrorKind::device);
    EXPECT_NE(status.error().message().find("No space left"), std::string::npos);
    EXPECT_NE(status.error().message().find("make room"), std::string::npos);
}

TEST(WriteFileAside, RefusesAFolderAndAMissingFolder) {
    const TemporaryFolder folder;
    EXPECT_FALSE(write_file_aside(folder / "", "x"));
    const Status status = write_file_aside(folder / "no/such/file", "x");
    ASSERT_FALSE(status);
    EXPECT_EQ(status.error().where, folder / "no/such/file");
}

TEST(WriteFileAside, FollowsALinkAndKeepsItsTargetsPermissions) {
    const TemporaryFolder folder;
    put_content(folder / "real", "old");
    ASSERT_EQ(::chmod((folder / "real").c_str(), 0600), 0);
    std::filesystem::create_symlink("real", folder / "link");
    ASSERT_TRUE(write_file_aside(folder / "link", "new"));
    EXPECT_TRUE(std::filesystem::is_symlink(folder / "link"));
    EXPECT_EQ(content_of(folder / "real"), "new");
    struct stat about {};
    ASSERT_EQ(::stat((folder / "real").c_str(), &about), 0);
    EXPECT_EQ(about.st_mode & 0777U, 0600U);
}

// A name that can be foreseen lets whoever can write into the folder lay a link there beforehand.
TEST(WriteFileAside, LeadsNobodyByALinkLaidUnderTheNameOfItsTemporaryFile) {
    const TemporaryFolder folder;
    put_content(folder / "victim", "untouched");
    std::filesystem::create_symlink(
        "victim", folder / ("." + std::string("a.") + std::to_string(::getpid()) + ".part"));
    ASSERT_TRUE(write_file_aside(folder / "a", "new"));
    EXPECT_EQ(content_of(folder / "victim"), "untouched");
    EXPECT_EQ(content_of(folder / "a"), "new");
}

TEST(WriteFileAside, TakesANameAsLongAsTheSystemAllows) {
    const TemporaryFolder folder;
    const std::string longest(255, 'n');
    EXPECT_TRUE(write_file_aside(folder / longest, "x"));
    EXPECT_EQ(content_of(folder / longest), "x");
    EXPECT_EQ(folder.entries(), 1);
}

TEST(WriteNewFile, MakesAFileOnceAndNeverReplacesOne) {
    const TemporaryFolder folder;
    ASSERT_TRUE(write_new_file(folder / "a", "first"));
    const Status again = write_new_file(folder / "a", "second");
    ASSERT_FALSE(again);
    EXPECT_EQ(again.error().kind, ErrorKind::usage);
    EXPECT_EQ(content_of(folder / "a"), "first");
    EXPECT_EQ(folder.entries(), 1);
}

TEST(WriteNewFile, LetsOneOfManyWritersAtOnceMakeIt) {
    const TemporaryFolder folder;
    std::atomic<int> made = 0;
    std::vector<std::thread> all;
    for (int i = 0; i < 10; ++i)
        all.emplace_back([&] { made += write_new_file(folder / "a", "x") ? 1 : 0; });
    for (std::thread& one : all)
        one.join();
    EXPECT_EQ(made, 1);
    EXPECT_EQ(folder.entries(), 1);
}
