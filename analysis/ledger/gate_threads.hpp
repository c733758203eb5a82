// Gates' ledgers at work on threads of their own: what a run hands to a gate reaches it in blocks.
//
// After travel the gates know nothing of each other. Each gate stays with one thread and gets
// everything in the order in which it was handed over, so results do not depend on the number of
// threads. Assumes: gates and their sinks outlive this and stay where they are; nobody looks into
// them before finish(). A run of less than a block starts no thread. Memory: a few blocks a thread.
#pragma once

#include "analysis/ledger/gate_ledger.hpp"

#include <cstddef>
#include <memory>
#include <mutex>
#include <vector>

namespace dropledger::ledger {

// How far a run's ledgers may spread out.
struct Spread {
    std::size_t threads = 0; // 0: the calling one only
    std::size_t calls_in_block = 2048; // with fewer, threads wake each other too often
};

class GateThreads {
public:
    explicit GateThreads(Spread spread);
    ~GateThreads();
    GateThreads(const GateThreads&) = delete;
    GateThreads& operator=(const GateThreads&) = delete;

    struct Block {
        std::vector<GateCall> calls; // room for all; none in a block never used
        std::size_t size = 0;        // calls in it
    };

    // Calls to one gate, in their order.
    class Inbox {
    public:
        Inbox(GateThreads& threads, GateLedger& gate, std::size_t number)
            : threads_(&threads), gate_(&gate), number_(number) {}

        template <class Call> void take(const Call& call) {
            if (threads_->spread_.threads == 0)
                return gate_->take(call);
            if (block_.calls.empty())
                block_ = threads_->empty_block();
            block_.calls[block_.size++].template emplace<Call>(call);
            if (block_.size == block_.calls.size())
                threads_->hand_over(*this);
        }

    private:
        friend class GateThreads;
        GateThreads* threads_;
        GateLedger* gate_;
        std::size_t number_;
        Block block_;
    };

    // Gates with numbers that leave the same rest share a thread.
    [[nodiscard]] Inbox inbox(GateLedger& gate, std::size_t number) {
        return {*this, gate, number};
    }
    // Everything in this inbox has reached its gate once finish() was called as well.
    void flush(Inbox& inbox);
    // Waits for the threads; throws what one of them threw.
    void finish();

private:
    struct Worker;

    void hand_over(Inbox& inbox);
    [[nodiscard]] Block empty_block();
    void put_back(Block block); // for reuse

    Spread spread_;
    std::mutex mutex_;
    std::vector<Block> empty_;
    std::vector<std::unique_ptr<Worker>> workers_; // last: they end before all else
};

} // namespace dropledger::ledger
