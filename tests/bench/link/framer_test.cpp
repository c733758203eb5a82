#include "bench/link/framer.hpp"

#include "analysis/droplog/line.hpp"
#include "tests/support/replay.hpp"

#include <gtest/gtest.h>

#include <random>
#include <vector>

namespace dropledger::link {
namespace {

struct Seen {
    std::vector<std::string> lines;
    std::vector<std::string> junk;
    friend bool operator==(const Seen&, const Seen&) = default;
};

void drain(Framer& framer, Seen& seen) {
    for (Frame frame = framer.next(); frame.kind != FrameKind::need_more; frame = framer.next())
        (frame.kind == FrameKind::line ? seen.lines : seen.junk).push_back(frame.bytes);
}

Seen frame_in_pieces(const std::string& bytes, std::vector<std::size_t> cuts) {
    Replay replay(bytes, std::move(cuts));
    Framer framer;
    Seen seen;
    for (Read read = replay.read({}); read.outcome == ReadOutcome::bytes; read = replay.read({})) {
        framer.feed(read.bytes);
        drain(framer, seen);
    }
    if (const Frame rest = framer.flush(); rest.kind == FrameKind::not_a_line)
        seen.junk.push_back(rest.bytes);
    return seen;
}

std::string dirty_stream() {
    std::string stream;
    for (std::uint32_t seq = 0; seq < 40; ++seq)
        stream += droplog::travel_line({.seq = seq, .tick_us = seq * 1000}, seq * 250) +
                  (seq % 3 == 0 ? "\r\n" : "\n");
    stream[55] = static_cast<char>(stream[55] ^ 4);
    stream.insert(200, std::string(700, 'x'));
    stream.insert(100, "\n");
    stream.insert(30, std::string(1, '\0'));
    return stream + "trav";
}

TEST(Framer, GivesALineWithoutItsEnding) {
    Framer framer;
    const std::string line = droplog::travel_line({.seq = 1, .tick_us = 2}, 3);
    framer.feed(line + "\r\n" + line + "\n");
    EXPECT_EQ(framer.next().bytes, line);
    const Frame second = framer.next();
    EXPECT_EQ(second.kind, FrameKind::line);
    EXPECT_EQ(second.bytes, line);
    EXPECT_EQ(framer.next().kind, FrameKind::need_more);
}

TEST(Framer, KeepsTheBytesOfWhatIsNoLine) {
    Framer framer;
    framer.feed("travel,1,2,3*0000\n");
    const Frame frame = framer.next();
    EXPECT_EQ(frame.kind, FrameKind::not_a_line);
    EXPECT_EQ(frame.bytes, "travel,1,2,3*0000");
}

TEST(Framer, KeepsOnlyTheBeginningOfAnEndlessLineAndFindsTheNext) {
    Framer framer;
    for (int i = 0; i < 1000; ++i) {
        framer.feed(std::string(1000, 'a'));
        EXPECT_EQ(framer.next().kind, FrameKind::need_more);
    }
    const std::string line = droplog::travel_line({.seq = 1, .tick_us = 2}, 3);
    framer.feed("\n" + line + "\n");
    const Frame frame = framer.next();
    EXPECT_EQ(frame.kind, FrameKind::not_a_line);
    EXPECT_EQ(frame.bytes, std::string(droplog::longest_line, 'a'));
    EXPECT_EQ(framer.next().bytes, line);
}

TEST(Framer, TakesTheLongestLineWithACrAndRefusesOneByteMore) {
    const std::string longest =
        droplog::encode("note," + std::string(droplog::longest_line - 11, 'n'));
    ASSERT_EQ(longest.size() + 1, droplog::longest_line);
    Framer framer;
    framer.feed(longest + "\r\n" + longest + "n\n");
    EXPECT_EQ(framer.next().kind, FrameKind::line);
    EXPECT_EQ(framer.next().kind, FrameKind::not_a_line);
}

TEST(Framer, GivesTheUnfinishedRestWhenTheLineGoesDown) {
    Framer framer;
    EXPECT_EQ(framer.flush().kind, FrameKind::need_more);
    framer.feed("hel");
    EXPECT_EQ(framer.next().kind, FrameKind::need_more);
    EXPECT_EQ(framer.flush().bytes, "hel");
    EXPECT_EQ(framer.flush().kind, FrameKind::need_more);
}

TEST(Framer, GivesTheSameLinesHoweverTheStreamIsCut) {
    const std::string stream = dirty_stream();
    const Seen whole = frame_in_pieces(stream, {stream.size()});
    EXPECT_EQ(whole.lines.size(), 36U);
    for (std::size_t first = 1; first < stream.size(); ++first)
        ASSERT_EQ(frame_in_pieces(stream, {first, stream.size()}), whole) << "cut at " << first;
    std::mt19937 random(20261125);
    for (int round = 0; round < 200; ++round) {
        std::vector<std::size_t> cuts;
        for (int i = 0; i < 50; ++i)
            cuts.push_back(1 + random() % 90);
        ASSERT_EQ(frame_in_pieces(stream, cuts), whole) << "round " << round;
    }
}

} // namespace
} // namespace dropledger::link
