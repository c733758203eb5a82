// Threads that take the next chunk of a log in turn and decode them side by side.
//
// Every chunk goes to both queues in the order of the log, before it is decoded: who takes one out
// waits for it (Chunk::wait_until_decoded). Closing a queue ends the work.
#pragma once

#include "analysis/base/bounded_queue.hpp"
#include "analysis/base/stage.hpp"
#include "analysis/droplog/chunks.hpp"

#include <cstddef>
#include <deque>
#include <memory>
#include <mutex>

namespace dropledger::droplog {

using ChunkQueue = BoundedQueue<std::shared_ptr<Chunk>>;

class Decoders {
public:
    Decoders(ByteSource& source, std::size_t count, ChunkQueue& to_seals, ChunkQueue& to_sorter);
    ~Decoders() { close(); }
    Decoders(const Decoders&) = delete;
    Decoders& operator=(const Decoders&) = delete;

    // Waits for their end; throws what one of them threw.
    void finish();

private:
    void work();
    [[nodiscard]] std::shared_ptr<Chunk> next();
    void close();

    std::mutex mutex_;
    ChunkReader chunks_;
    ChunkQueue* to_seals_;
    ChunkQueue* to_sorter_;
    bool wanted_ = true;
    std::deque<Stage> stages_; // last: they end before all else
};

} // namespace dropledger::droplog
