// Independent pieces of work, done on as many threads as there are processors.
//
// Assumes: the pieces touch nothing of each other.
#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <future>
#include <thread>
#include <vector>

namespace dropledger {

// Calls piece(0) … piece(count − 1), each once; throws what one of them threw, when all threads
// have ended.
template <class Piece> void side_by_side(std::size_t count, const Piece& piece) {
    std::atomic<std::size_t> next = 0;
    const auto work = [&] {
        for (std::size_t mine = next++; mine < count; mine = next++)
            piece(mine);
    };
    const std::size_t threads = std::min<std::size_t>(count, std::thread::hardware_concurrency());
    std::vector<std::future<void>> others;
    for (std::size_t i = 1; i < threads; ++i)
        others.push_back(std::async(std::launch::async, work));
    work();
    for (std::future<void>& other : others)
        other.get();
}

} // namespace dropledger
