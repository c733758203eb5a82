#include "bench/io/file_source.hpp"

#include "analysis/base/readers/open_string.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <array>
#include <thread>

using namespace dropledger;
using namespace dropledger::files;

namespace {

std::string all_of(const OpenBytes& open) {
    const auto source = open();
    if (!source)
        return source.error().message();
    std::string bytes;
    std::array<char, 1000> room{};
    for (;;) {
        const auto got = (*source)->read(room);
        if (!got)
            return got.error().message();
        if (*got == 0)
            return bytes;
        bytes.append(room.data(), *got);
    }
}

std::string bytes_of_every_value(std::size_t size) {
    std::string bytes;
    for (std::size_t i = 0; i < size; ++i)
        bytes += static_cast<char>(i * 7);
    return bytes;
}

} // namespace

TEST(FileSource, GivesTheBytesOfAFileAsOftenAsAsked) {
    const TemporaryFolder folder;
    const std::string content = bytes_of_every_value(12'345);
    put_content(folder / "a", content);
    const OpenBytes open = open_file(folder / "a");
    EXPECT_EQ(all_of(open), content);
    EXPECT_EQ(all_of(open), content);
}

TEST(FileSource, ReadsTwoSourcesOfOneFileIndependently) {
    const TemporaryFolder folder;
    put_content(folder / "a", "abcdef");
    const OpenBytes open = open_file(folder / "a");
    const auto first = open();
    const auto second = open();
    std::array<char, 3> room{};
    ASSERT_EQ(*(*first)->read(room), 3U);
    ASSERT_EQ(*(*first)->read(room), 3U);
    EXPECT_EQ(room[0], 'd');
    ASSERT_EQ(*(*second)->read(room), 3U);
    EXPECT_EQ(room[0], 'a');
}

TEST(FileSource, GivesAPipeTwice) {
    std::array<int, 2> ends{};
    ASSERT_EQ(::pipe(ends.data()), 0);
    const std::string content = bytes_of_every_value(300'000); // more than a pipe holds
    std::thread writer{[&] {
        std::string_view left = content;
        while (!left.empty())
            left.remove_prefix(
                static_cast<std::size_t>(::write(ends[1], left.data(), left.size())));
        ::close(ends[1]);
    }};
    const OpenBytes open = open_descriptor(ends[0], "standard input");
    EXPECT_EQ(all_of(open), content);
    writer.join();
    ::close(ends[0]);
    EXPECT_EQ(all_of(open), content);
}

// 2026-11-26: the first opening copied a pipe to its end, and one without an end until the disk was
// full.
TEST(FileSource, TakesNoMoreFromAPipeThanIsRead) {
    std::array<int, 2> ends{};
    ASSERT_EQ(::pipe(ends.data()), 0);
    ASSERT_EQ(::write(ends[1], "0123456789", 10), 10); // and it stays open
    const OpenBytes open = open_descriptor(ends[0], "standard input");
    const auto first = open();
    ASSERT_TRUE(first);
    std::array<char, 4> room{};
    ASSERT_EQ(*(*first)->read(room), 4U);
    EXPECT_EQ((std::string_view{room.data(), 4}), "0123");
    const auto second = open();
    ASSERT_EQ(*(*second)->read(room), 4U);
    EXPECT_EQ((std::string_view{room.data(), 4}), "0123");
    ASSERT_EQ(*(*second)->read(room), 4U);
    ASSERT_EQ(*(*first)->read(room), 4U);
    EXPECT_EQ((std::string_view{room.data(), 4}), "4567");
    ::close(ends[0]);
    ::close(ends[1]);
}

TEST(FileSource, RefusesAPipeThatIsLongerThanIsKeptAside) {
    std::array<int, 2> ends{};
    ASSERT_EQ(::pipe(ends.data()), 0);
    ASSERT_EQ(::write(ends[1], "0123456789", 10), 10);
    ::close(ends[1]);
    const auto source = open_descriptor(ends[0], "standard input", 9)();
    ASSERT_TRUE(source);
    std::array<char, 8> room{};
    EXPECT_EQ(*(*source)->read(room), 8U);
    const auto more = (*source)->read(room);
    ASSERT_FALSE(more);
    EXPECT_EQ(more.error().kind, ErrorKind::input);
    EXPECT_EQ(more.error().where, "standard input");
    ::close(ends[0]);
}

TEST(FileSource, GivesAsManyBytesAsItsLimitAllows) {
    EXPECT_EQ(all_of(limited(open_string("0123456789"), "a", 10)), "0123456789");
    const auto source = limited(open_string("0123456789"), "a", 9)();
    std::array<char, 16> room{};
    const auto got = (*source)->read(room);
    ASSERT_FALSE(got);
    EXPECT_EQ(got.error().where, "a");
}

TEST(FileSource, StartsARedirectedFileWhereItStands) {
    const TemporaryFolder folder;
    put_content(folder / "a", "0123456789");
    const Descriptor file{::open((folder / "a").c_str(), O_RDONLY)};
    ASSERT_EQ(::lseek(file.number(), 4, SEEK_SET), 4);
    const OpenBytes open = open_descriptor(file.number(), "standard input");
    EXPECT_EQ(all_of(open), "456789");
    EXPECT_EQ(all_of(open), "456789");
}

TEST(FileSource, NamesAFileThatIsNotThere) {
    const auto source = open_file("no/such.droplog")();
    ASSERT_FALSE(source);
    EXPECT_EQ(source.error().kind, ErrorKind::input);
    EXPECT_EQ(source.error().where, "no/such.droplog");
    EXPECT_NE(source.error().what.find("no such file"), std::string::npos);
    EXPECT_FALSE(source.error().remedy.empty());
}

TEST(FileSource, RefusesAFolder) {
    const TemporaryFolder folder;
    const auto source = open_file(folder / "")();
    ASSERT_FALSE(source);
    EXPECT_EQ(source.error().kind, ErrorKind::input);
}
