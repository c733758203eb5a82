#include "bench/link/transport.hpp"

#include "bench/link/pty.hpp"
#include "bench/link/serial.hpp"
#include "tests/support/replay.hpp"

#include <gtest/gtest.h>

#include <array>
#include <filesystem>

#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <unistd.h>

namespace dropledger::link {
namespace {

using std::chrono::milliseconds;

// The far end of a pseudo-terminal.
class FarEnd {
public:
    FarEnd() {
        int near = -1;
        std::array<char, 64> name{};
        if (::openpty(&handle_, &near, name.data(), nullptr, nullptr) != 0)
            throw std::runtime_error("no pseudo-terminal");
        ::close(near);
        path_ = name.data();
    }
    ~FarEnd() { hang_up(); }
    FarEnd(const FarEnd&) = delete;
    FarEnd& operator=(const FarEnd&) = delete;

    void say(std::string_view bytes) const {
        ASSERT_EQ(::write(handle_, bytes.data(), bytes.size()), static_cast<ssize_t>(bytes.size()));
    }
    [[nodiscard]] std::string hear() const {
        pollfd entry{handle_, POLLIN, 0};
        std::array<char, 4096> bytes{};
        if (::poll(&entry, 1, 1000) <= 0)
            return {};
        const ssize_t size = ::read(handle_, bytes.data(), bytes.size());
        return {bytes.data(), size > 0 ? static_cast<std::size_t>(size) : 0};
    }
    void hang_up() {
        if (handle_ >= 0)
            ::close(handle_);
        handle_ = -1;
    }
    [[nodiscard]] const std::string& path() const { return path_; }

private:
    int handle_ = -1;
    std::string path_;
};

enum class Kind { pty, serial };

// Both implementations keep the same promises; the serial one runs over a pseudo-terminal behind a
// shim.
class EveryTransport : public testing::TestWithParam<Kind> {
protected:
    [[nodiscard]] Result<std::unique_ptr<Transport>> open() const { return open(far.path()); }
    [[nodiscard]] static Result<std::unique_ptr<Transport>> open(const std::string& path) {
        return GetParam() == Kind::pty ? open_pty(path) : open_serial(path, default_baud);
    }
    FarEnd far;
};

TEST_P(EveryTransport, TellsBytesFromSilenceAndFromNothingWaiting) {
    auto near = open();
    ASSERT_TRUE(near) << near.error().message();
    EXPECT_EQ((*near)->read(milliseconds{0}).outcome, ReadOutcome::would_block);
    EXPECT_EQ((*near)->read(milliseconds{1}).outcome, ReadOutcome::silence);
    far.say("abc");
    const Read read = (*near)->read(milliseconds{1000});
    EXPECT_EQ(read.outcome, ReadOutcome::bytes);
    EXPECT_EQ(read.bytes, "abc");
}

TEST_P(EveryTransport, TellsAHangUpFromSilence) {
    auto near = open();
    ASSERT_TRUE(near);
    far.say("last words");
    EXPECT_EQ((*near)->read(milliseconds{1000}).bytes, "last words");
    far.hang_up();
    EXPECT_EQ((*near)->read(milliseconds{1000}).outcome, ReadOutcome::gone);
    EXPECT_EQ((*near)->read(milliseconds{0}).outcome, ReadOutcome::gone);
    const Status written = (*near)->write("x");
    ASSERT_FALSE(written);
    EXPECT_EQ(exit_status(written.error().kind), 74);
}

TEST_P(EveryTransport, PassesEveryByteValueBothWays) {
    std::string all;
    for (int value = 0; value < 256; ++value)
        all += static_cast<char>(value);
    auto near = open();
    ASSERT_TRUE(near);
    far.say(all);
    std::string heard;
    while (heard.size() < all.size()) {
        const Read read = (*near)->read(milliseconds{1000});
        ASSERT_EQ(read.outcome, ReadOutcome::bytes);
        heard += read.bytes;
    }
    EXPECT_EQ(heard, all);
    ASSERT_TRUE((*near)->write(all));
    std::string back;
    while (back.size() < all.size()) {
        const std::string part = far.hear();
        ASSERT_FALSE(part.empty());
        back += part;
    }
    EXPECT_EQ(back, all);
}

TEST_P(EveryTransport, HoldsThePortAlone) {
    auto first = open();
    ASSERT_TRUE(first);
    auto second = open();
    ASSERT_FALSE(second);
    EXPECT_NE(second.error().what.find("in use"), std::string::npos) << second.error().message();
    first->reset();
    EXPECT_TRUE(open());
}

TEST_P(EveryTransport, GivesUpWritingWhenTheOtherEndTakesNothing) {
    auto near = open();
    ASSERT_TRUE(near);
    const Status written = (*near)->write(std::string(1'000'000, 'x'));
    ASSERT_FALSE(written);
    EXPECT_NE(written.error().what.find("takes no bytes"), std::string::npos);
}

INSTANTIATE_TEST_SUITE_P(Link, EveryTransport, testing::Values(Kind::pty, Kind::serial),
                         [](const auto& kind) {
                             return kind.param == Kind::pty ? "Pty" : "Serial";
                         });

TEST(OpenTransport, FollowsLinksToAPseudoTerminal) {
    const FarEnd far;
    const std::string link = testing::TempDir() + "by-id-" + std::to_string(::getpid());
    std::filesystem::create_symlink(far.path(), link);
    auto near = open_transport(link, default_baud);
    std::filesystem::remove(link);
    ASSERT_TRUE(near) << near.error().message();
    far.say("x");
    EXPECT_EQ((*near)->read(milliseconds{1000}).bytes, "x");
}

TEST(OpenTransport, NamesAPortThatIsNotThere) {
    const auto none = open_transport("/dev/no-such-port", default_baud);
    ASSERT_FALSE(none);
    EXPECT_EQ(exit_status(none.error().kind), 74);
    EXPECT_NE(none.error().message().find("/dev/no-such-port"), std::string::npos);
    EXPECT_NE(none.error().remedy.find("`dropledger run --list-ports`"), std::string::npos);
}

TEST(OpenTransport, RefusesWhatIsNoTerminal) {
    const auto none = open_transport("/dev/null", default_baud);
    ASSERT_FALSE(none);
    EXPECT_EQ(none.error().kind, ErrorKind::device);
}

TEST(OpenSerial, RefusesABaudRateThatCannotBe) {
    const FarEnd far;
    for (const int baud : {-5, 0, 49, 5'000'000}) {
        const auto none = open_serial(far.path(), baud);
        ASSERT_FALSE(none) << baud;
        EXPECT_EQ(none.error().kind, ErrorKind::usage);
    }
}

TEST(BenchLikeness, GoesByTheNamesThatThePortGivesItself) {
    EXPECT_EQ(bench_likeness({.path = "a", .product = "Dropledger controller"}), Likeness::bench);
    EXPECT_EQ(bench_likeness({.path = "a", .product = "USB UART"}), Likeness::adapter);
    EXPECT_EQ(bench_likeness({.path = "a", .description = "ttyS0"}), Likeness::unlikely);
}

TEST(ListPorts, ListsWithoutFailing) {
    EXPECT_TRUE(list_ports());
}

TEST(Replay, PlaysInPiecesAndRemembersWhatWasWritten) {
    Replay replay("abcdef", {2, 1}, Replay::Ending::silence);
    EXPECT_EQ(replay.read({}).bytes, "ab");
    EXPECT_EQ(replay.read({}).bytes, "c");
    EXPECT_EQ(replay.read({}).bytes, "de");
    EXPECT_EQ(replay.read({}).bytes, "f");
    EXPECT_EQ(replay.read(milliseconds{0}).outcome, ReadOutcome::would_block);
    EXPECT_EQ(replay.read(milliseconds{5}).outcome, ReadOutcome::silence);
    EXPECT_TRUE(replay.write("out"));
    EXPECT_EQ(replay.written(), "out");
    replay.close();
    EXPECT_EQ(replay.read({}).outcome, ReadOutcome::gone);
    EXPECT_FALSE(replay.write("more"));
}

} // namespace
} // namespace dropledger::link
