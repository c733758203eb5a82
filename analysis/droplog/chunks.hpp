// First stage of reading: bytes are cut into chunks of whole lines, one after the other; then each
// chunk's lines are decoded by themselves, on any thread.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/droplog/line.hpp"

#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::droplog {

struct DecodedLine {
    DecodedLine(std::string_view line, std::uint32_t offset_in_chunk, bool is_damaged)
        : record(is_damaged ? Record{} : decode(line)), offset(offset_in_chunk),
          size(static_cast<std::uint32_t>(line.size()) & 0x7fff'ffffU),
          ends_in_cr(line.ends_with('\r') ? 1 : 0) {}

    Record record;
    std::uint32_t offset;         // in Chunk::bytes
    std::uint32_t size : 31;      // without LF
    std::uint32_t ends_in_cr : 1; // said here, so that only who wants the text touches it
};

// A piece of the log. Its lines end in it; only a line too long to be legal may have begun before
// it.
class Chunk {
public:
    std::string bytes;
    std::size_t size = 0; // bytes in use
    std::vector<DecodedLine> lines;
    bool begins_in_overlong_line = false;
    bool torn_tail = false;       // the log ends here, without an LF
    std::optional<Error> failure; // the source broke off here

    [[nodiscard]] std::string_view text(const DecodedLine& line) const {
        return {bytes.data() + line.offset, line.size};
    }
    // What stands before the `*CCCC` of a line that is not damaged.
    [[nodiscard]] std::string_view body(const DecodedLine& line) const {
        return {bytes.data() + line.offset, line.size - check_size - line.ends_in_cr};
    }

    void decode_lines();
    // Until decode_lines() has ended, however it ended.
    void wait_until_decoded() const { is_decoded_.wait(false); }
    void clear(); // for reuse

private:
    void decode_all();

    std::atomic<bool> is_decoded_ = false;
};

class ChunkPool;

class ChunkReader {
public:
    explicit ChunkReader(ByteSource& source);

    // The next piece, not decoded yet; nothing at the end.
    [[nodiscard]] std::shared_ptr<Chunk> next();

private:
    void fill(Chunk& chunk);
    void cut(Chunk& chunk);
    void keep_rest(Chunk& chunk, std::size_t used);

    ByteSource* source_;
    std::shared_ptr<ChunkPool> pool_;
    std::string rest_; // begin of a line whose end is not read yet
    bool in_overlong_line_ = false;
    bool at_end_ = false;
};

} // namespace dropledger::droplog
