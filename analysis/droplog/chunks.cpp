#include "analysis/droplog/chunks.hpp"

#include <algorithm>
#include <cstring>
#include <mutex>

namespace dropledger::droplog {

namespace {

constexpr std::size_t chunk_size = std::size_t{256} * 1024;

} // namespace

// Chunks that are done with, for reuse: fresh memory for each would cost more than decoding it.
class ChunkPool : public std::enable_shared_from_this<ChunkPool> {
public:
    [[nodiscard]] std::shared_ptr<Chunk> take() {
        return {unused().release(), [pool = shared_from_this()](Chunk* chunk) {
                    pool->put_back(std::unique_ptr<Chunk>{chunk});
                }};
    }

private:
    [[nodiscard]] std::unique_ptr<Chunk> unused() {
        const std::lock_guard lock(mutex_);
        if (unused_.empty())
            return std::make_unique<Chunk>();
        auto chunk = std::move(unused_.back());
        unused_.pop_back();
        return chunk;
    }

    void put_back(std::unique_ptr<Chunk> chunk) {
        chunk->clear();
        const std::lock_guard lock(mutex_);
        unused_.push_back(std::move(chunk));
    }

    std::mutex mutex_;
    std::vector<std::unique_ptr<Chunk>> unused_;
};

ChunkReader::ChunkReader(ByteSource& source)
    : source_(&source), pool_(std::make_shared<ChunkPool>()) {
}

std::shared_ptr<Chunk> ChunkReader::next() {
    if (at_end_)
        return nullptr;
    auto chunk = pool_->take();
    chunk->bytes.resize(chunk_size);
    fill(*chunk);
    cut(*chunk);
    return chunk;
}

void ChunkReader::fill(Chunk& chunk) {
    std::copy(rest_.begin(), rest_.end(), chunk.bytes.begin());
    chunk.size = rest_.size();
    rest_.clear();
    while (chunk.size < chunk_size) {
        const Result<std::size_t> got =
            source_->read({chunk.bytes.data() + chunk.size, chunk_size - chunk.size});
        if (!got)
            chunk.failure = got.error();
        at_end_ = !got || *got == 0;
        if (at_end_)
            return;
        chunk.size += *got;
    }
}

void ChunkReader::cut(Chunk& chunk) {
    const std::string_view bytes{chunk.bytes.data(), chunk.size};
    const std::size_t last_lf = bytes.rfind('\n');
    const bool has_lf = last_lf != std::string_view::npos;
    chunk.begins_in_overlong_line = in_overlong_line_;
    in_overlong_line_ &= !has_lf;
    keep_rest(chunk, has_lf ? last_lf + 1 : 0);
}

void ChunkReader::keep_rest(Chunk& chunk, std::size_t used) {
    const std::size_t left = chunk.size - used;
    if (at_end_) {
        chunk.torn_tail = left > 0 || in_overlong_line_;
        chunk.size = used;
    } else if (left > longest_line) { // even where its end turns out to be CR LF
        in_overlong_line_ = true;     // its bytes stay in this chunk: the seals cover them
    } else {
        rest_.assign(chunk.bytes, used, left);
        chunk.size = used;
    }
}

void Chunk::decode_lines() {
    struct Announcement {
        std::atomic<bool>& is_decoded;
        ~Announcement() {
            is_decoded = true;
            is_decoded.notify_all();
        }
    };
    const Announcement announcement{is_decoded_};
    decode_all();
}

void Chunk::decode_all() {
    const char* const begin = bytes.data();
    const char* const end = begin + size;
    const char* at = begin;
    bool is_overlong = begins_in_overlong_line;
    lines.reserve(size / 32);
    while (const auto* lf = static_cast<const char*>(
               std::memchr(at, '\n', static_cast<std::size_t>(end - at)))) {
        lines.emplace_back(std::string_view{at, static_cast<std::size_t>(lf - at)},
                           static_cast<std::uint32_t>(at - begin), is_overlong);
        is_overlong = false;
        at = lf + 1;
    }
}

void Chunk::clear() {
    size = 0;
    lines.clear();
    begins_in_overlong_line = torn_tail = false;
    failure.reset();
    is_decoded_ = false;
}

} // namespace dropledger::droplog
