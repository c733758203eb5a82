#include "analysis/droplog/chunks.hpp"

#include "tests/analysis/droplog/logs.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

struct Cut {
    std::vector<std::pair<LineName, std::size_t>> lines; // with its size, for lines of one chunk
    std::string bytes;
    bool torn_tail = false;
};

Cut cut(const std::string& log) {
    StringSource source{log};
    ChunkReader reader{source};
    Cut found;
    while (const auto chunk = reader.next()) {
        chunk->decode_lines();
        for (const DecodedLine& line : chunk->lines)
            found.lines.emplace_back(line.record.name, line.size);
        found.bytes.append(chunk->bytes, 0, chunk->size);
        found.torn_tail |= chunk->torn_tail;
    }
    return found;
}

constexpr std::size_t chunk_size = std::size_t{256} * 1024;

class FailingSource final : public ByteSource {
    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override {
        if (reads_++ > 0)
            return Error{
                ErrorKind::device, "test.droplog", "cannot read it: Input/output error", {}};
        const std::string line = travel_line({0, 0}, 0) + "\n";
        line.copy(room.data(), line.size());
        return line.size();
    }
    int reads_ = 0;
};

} // namespace

TEST(Chunks, LoseNoByteBeforeTheTornTail) {
    const std::string log = healthy_log(20'000); // several chunks
    ASSERT_GT(log.size(), 3 * chunk_size);
    const Cut whole = cut(log);
    EXPECT_EQ(whole.bytes, log);
    EXPECT_EQ(whole.lines.size(), lines_of(log).size());
    EXPECT_FALSE(whole.torn_tail);
    const Cut torn = cut(log + "travel,1");
    EXPECT_EQ(torn.bytes, log);
    EXPECT_TRUE(torn.torn_tail);
}

TEST(Chunks, HoldNothingOfAnEmptyLog) {
    const Cut none = cut("");
    EXPECT_TRUE(none.lines.empty());
    EXPECT_FALSE(none.torn_tail);
}

TEST(Chunks, TakeALineLongerThanAChunkForOneDamagedLine) {
    const std::string good = travel_line({0, 0}, 0) + "\n";
    for (const std::size_t size : {241U, 262'143U, 262'144U, 262'145U, 600'000U, 2U * 262'144U}) {
        const std::string log = good + std::string(size, 'x') + "\n" + good;
        const Cut found = cut(log);
        ASSERT_EQ(found.lines.size(), 3U) << size;
        EXPECT_EQ(found.lines[1].first, LineName::damaged);
        EXPECT_EQ(found.lines[2].first, LineName::travel);
        EXPECT_EQ(found.bytes, log);
        const Cut torn = cut(good + std::string(size, 'x'));
        EXPECT_EQ(torn.lines.size(), 1U) << size;
        EXPECT_TRUE(torn.torn_tail) << size;
    }
}

// A line of full length with a CR, the chunk ending between CR and LF, was once taken for too long.
TEST(Chunks, CutTheLongestLegalLineAnywhereWithAndWithoutCr) {
    const std::string longest = encode("@note," + std::string(228, 'x'));
    ASSERT_EQ(longest.size() + 1, longest_line);
    for (const char* end : {"\n", "\r\n"})
        for (std::size_t before = chunk_size - 245; before <= chunk_size; ++before) {
            const Cut found = cut(std::string(before - 1, 'x') + "\n" + longest + end);
            ASSERT_EQ(found.lines.size(), 2U);
            ASSERT_EQ(found.lines[1].first, LineName::host_note) << before;
        }
}

TEST(Chunks, KeepADecodedLineWhereItsChunkIsKept) {
    StringSource source{healthy_log(20'000)};
    ChunkReader reader{source};
    std::vector<std::shared_ptr<Chunk>> kept;
    while (auto chunk = reader.next()) {
        chunk->decode_lines();
        kept.push_back(std::move(chunk));
    }
    ASSERT_GT(kept.size(), 3U);
    for (const auto& chunk : kept)
        for (const DecodedLine& line : chunk->lines)
            ASSERT_EQ(decode(chunk->text(line)).seq, line.record.seq);
}

TEST(Chunks, PassOnWhatTheSourceSaidWhenItBrokeOff) {
    FailingSource source;
    ChunkReader reader{source};
    const auto chunk = reader.next();
    ASSERT_TRUE(chunk && chunk->failure);
    chunk->decode_lines();
    EXPECT_EQ(chunk->lines.size(), 1U);
    EXPECT_EQ(chunk->failure->kind, ErrorKind::device);
    EXPECT_EQ(reader.next(), nullptr);
    FailingSource again;
    const auto reading = check_log(again, "test.droplog");
    ASSERT_FALSE(reading);
    EXPECT_EQ(reading.error().kind, ErrorKind::device);
}
