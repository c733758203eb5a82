// Hands what gates' ledgers give to their sinks over to other threads, in blocks.
//
// Each sink stays with one thread and gets every call in the order in which it was made, so results
// do not depend on the number of threads. Assumes: the sinks outlive this; nobody looks into them
// before finish(). A run of less than a block starts no thread. Memory: a few blocks for each sink.
#pragma once

#include "analysis/ledger/entry.hpp"

#include <cstddef>
#include <cstdint>
#include <memory>
#include <mutex>
#include <vector>

namespace dropledger::ledger {

class SinkThreads {
public:
    // `threads` 0: everything on the calling thread.
    explicit SinkThreads(std::size_t threads, std::size_t calls_in_block = usual_block);
    ~SinkThreads();
    SinkThreads(const SinkThreads&) = delete;
    SinkThreads& operator=(const SinkThreads&) = delete;

    // Stands before `sink`: to be called in its place.
    [[nodiscard]] EntrySink& before(EntrySink& sink);
    // Everything has reached its sink; throws what a sink threw.
    void finish();

    static constexpr std::size_t usual_block = 1024;

private:
    class Block;
    class Front;
    struct Worker;

    void hand_over(Front& front);
    [[nodiscard]] std::unique_ptr<Block> empty_block(); // for reuse
    void put_back(std::unique_ptr<Block> block);

    std::size_t threads_;
    std::size_t calls_in_block_;
    std::mutex mutex_;
    std::vector<std::unique_ptr<Block>> empty_;
    std::vector<std::unique_ptr<Front>> fronts_;
    std::vector<std::unique_ptr<Worker>> workers_; // last: they end before all else
};

} // namespace dropledger::ledger
