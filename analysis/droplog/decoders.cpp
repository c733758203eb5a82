#include "analysis/droplog/decoders.hpp"

#include <algorithm>

namespace dropledger::droplog {

Decoders::Decoders(ByteSource& source, std::size_t count, ChunkQueue& to_seals,
                   ChunkQueue& to_sorter)
    : chunks_(source), to_seals_(&to_seals), to_sorter_(&to_sorter) {
    for (std::size_t i = 0; i < std::max<std::size_t>(count, 1); ++i)
        stages_.emplace_back([this] { work(); }, [] {});
}

void Decoders::finish() {
    for (Stage& stage : stages_)
        stage.finish();
}

void Decoders::work() {
    try {
        while (const auto chunk = next())
            chunk->decode_lines();
    } catch (...) {
        close();
        throw;
    }
}

// What was handed over is decoded, also where nobody wants more: somebody may wait for it.
std::shared_ptr<Chunk> Decoders::next() {
    const std::lock_guard lock(mutex_);
    auto chunk = wanted_ ? chunks_.next() : nullptr;
    wanted_ = chunk && to_seals_->push(chunk) && to_sorter_->push(chunk);
    if (!wanted_)
        close();
    return chunk;
}

void Decoders::close() {
    to_seals_->close();
    to_sorter_->close();
}

} // namespace dropledger::droplog
