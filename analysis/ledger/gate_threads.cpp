#include "analysis/ledger/gate_threads.hpp"

#include "analysis/base/bounded_queue.hpp"
#include "analysis/base/stage.hpp"

#include <utility>
#include <variant>

namespace dropledger::ledger {

namespace {

constexpr std::size_t blocks_in_flight = 4; // to each thread

void deliver(GateLedger& gate, const GateThreads::Block& block) {
    for (std::size_t i = 0; i < block.size; ++i)
        std::visit([&gate](const auto& call) { gate.take(call); }, block.calls[i]);
}

} // namespace

struct GateThreads::Worker {
    struct Job {
        GateLedger* gate = nullptr;
        Block block;
    };

    explicit Worker(GateThreads& threads)
        : stage([this, &threads] { work(threads); }, [this] { jobs.close(); }) {}

    void work(GateThreads& threads) {
        while (auto job = jobs.pop()) {
            deliver(*job->gate, job->block);
            threads.put_back(std::move(job->block));
        }
    }

    BoundedQueue<Job> jobs{blocks_in_flight};
    Stage stage;
};

GateThreads::GateThreads(Spread spread) : spread_(spread) {
}

GateThreads::~GateThreads() = default;

GateThreads::Block GateThreads::empty_block() {
    const std::lock_guard lock(mutex_);
    if (empty_.empty())
        return {.calls = std::vector<GateCall>(spread_.calls_in_block)};
    auto block = std::move(empty_.back());
    empty_.pop_back();
    return block;
}

void GateThreads::put_back(Block block) {
    block.size = 0;
    const std::lock_guard lock(mutex_);
    empty_.push_back(std::move(block));
}

// A worker that has failed takes nothing more: finish() says why.
void GateThreads::hand_over(Inbox& inbox) {
    const std::size_t which = inbox.number_ % spread_.threads;
    while (workers_.size() <= which)
        workers_.push_back(std::make_unique<Worker>(*this));
    workers_[which]->jobs.push({inbox.gate_, std::exchange(inbox.block_, Block{})});
}

// Where no thread has begun, the run is short.
void GateThreads::flush(Inbox& inbox) {
    if (inbox.block_.size == 0)
        return;
    if (!workers_.empty())
        return hand_over(inbox);
    deliver(*inbox.gate_, inbox.block_);
    inbox.block_.size = 0;
}

void GateThreads::finish() {
    for (const auto& worker : workers_) {
        worker->jobs.close();
        worker->stage.finish();
    }
    workers_.clear();
}

} // namespace dropledger::ledger
