#include "bench/io/file_lock.hpp"

#include "bench/io/write_aside.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <string>
#include <thread>
#include <vector>

using namespace dropledger;
using namespace dropledger::files;

// Ten programs that each read a number, add one and write it back by renaming: with no lock from
// the reading to the renaming, most of it is lost.
TEST(FileLock, KeepsEveryChangeOfTenWritersThatReplaceTheFile) {
    constexpr int writers = 10;
    constexpr int changes = 20;
    const TemporaryFolder folder;
    put_content(folder / "n", "0");
    std::atomic<int> refused = 0;
    const auto change = [&] {
        const auto lock = FileLock::hold(folder / "n");
        const int before = lock ? std::stoi(content_of(folder / "n")) : -1;
        if (!lock || !write_file_aside(folder / "n", std::to_string(before + 1)))
            ++refused;
    };
    std::vector<std::thread> all;
    for (int i = 0; i < writers; ++i)
        all.emplace_back([&] {
            for (int k = 0; k < changes; ++k)
                change();
        });
    for (std::thread& one : all)
        one.join();
    EXPECT_EQ(refused, 0);
    EXPECT_EQ(content_of(folder / "n"), std::to_string(writers * changes));
    EXPECT_EQ(folder.entries(), 1);
}

TEST(FileLock, NeedsAFile) {
    const TemporaryFolder folder;
    const auto lock = FileLock::hold(folder / "none");
    ASSERT_FALSE(lock);
    EXPECT_EQ(lock.error().kind, ErrorKind::input);
}
