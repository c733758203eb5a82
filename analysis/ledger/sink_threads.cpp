#include "analysis/ledger/sink_threads.hpp"

#include "analysis/base/bounded_queue.hpp"
#include "analysis/base/stage.hpp"

#include <utility>

namespace dropledger::ledger {

namespace {

constexpr std::size_t blocks_in_flight = 8; // to each thread

} // namespace

// Calls to one sink, in their order.
class SinkThreads::Block {
public:
    [[nodiscard]] std::size_t size() const { return calls_.size(); }

    void entry(const Entry& entry) {
        calls_.push_back(Call::entry);
        entries_.push_back(entry);
    }
    void assigned(const Landing& landing, std::int64_t error_um) {
        calls_.push_back(Call::assigned);
        landings_.push_back(landing);
        errors_um_.push_back(error_um);
    }
    void stray(const Landing& landing) {
        calls_.push_back(Call::stray);
        landings_.push_back(landing);
    }
    void landed(const Landing& landing) {
        calls_.push_back(Call::landed);
        landings_.push_back(landing);
    }
    void segment_ended() { calls_.push_back(Call::segment_ended); }

    void deliver(EntrySink& sink) const {
        auto entry = entries_.begin();
        auto landing = landings_.begin();
        auto error_um = errors_um_.begin();
        for (const Call call : calls_) {
            if (call == Call::entry)
                sink.entry(*entry++);
            else if (call == Call::assigned)
                sink.assigned(*landing++, *error_um++);
            else if (call == Call::landed)
                sink.landed(*landing++);
            else if (call == Call::stray)
                sink.stray(*landing++);
            else
                sink.segment_ended();
        }
    }

    void clear() {
        calls_.clear();
        entries_.clear();
        landings_.clear();
        errors_um_.clear();
    }

private:
    enum class Call : std::uint8_t { entry, assigned, stray, landed, segment_ended };

    std::vector<Call> calls_;
    std::vector<Entry> entries_;
    std::vector<Landing> landings_;
    std::vector<std::int64_t> errors_um_;
};

class SinkThreads::Front final : public EntrySink {
public:
    Front(SinkThreads& threads, EntrySink& sink, std::size_t number)
        : threads_(&threads), sink_(&sink), number_(number), block_(threads.empty_block()) {}

    void entry(const Entry& entry) override {
        block_->entry(entry);
        hand_over_full();
    }
    void assigned(const Landing& landing, std::int64_t error_um) override {
        block_->assigned(landing, error_um);
        hand_over_full();
    }
    void stray(const Landing& landing) override {
        block_->stray(landing);
        hand_over_full();
    }
    void landed(const Landing& landing) override {
        block_->landed(landing);
        hand_over_full();
    }
    void segment_ended() override {
        block_->segment_ended();
        hand_over_full();
    }

    [[nodiscard]] EntrySink& sink() const { return *sink_; }
    [[nodiscard]] std::size_t number() const { return number_; }
    [[nodiscard]] std::unique_ptr<Block> take_block() {
        return std::exchange(block_, threads_->empty_block());
    }

private:
    void hand_over_full() {
        if (block_->size() >= threads_->calls_in_block_)
            threads_->hand_over(*this);
    }

    SinkThreads* threads_;
    EntrySink* sink_;
    std::size_t number_;
    std::unique_ptr<Block> block_;
};

// A thread that delivers blocks.
struct SinkThreads::Worker {
    struct Job {
        EntrySink* sink = nullptr;
        std::unique_ptr<Block> block;
    };

    explicit Worker(SinkThreads& threads)
        : stage([this, &threads] { deliver(threads); }, [this] { jobs.close(); }) {}

    void deliver(SinkThreads& threads) {
        while (auto job = jobs.pop()) {
            job->block->deliver(*job->sink);
            threads.put_back(std::move(job->block));
        }
    }

    BoundedQueue<Job> jobs{blocks_in_flight};
    Stage stage;
};

SinkThreads::SinkThreads(std::size_t threads, std::size_t calls_in_block)
    : threads_(threads), calls_in_block_(calls_in_block) {
}

SinkThreads::~SinkThreads() = default;

EntrySink& SinkThreads::before(EntrySink& sink) {
    fronts_.push_back(std::make_unique<Front>(*this, sink, fronts_.size()));
    return *fronts_.back();
}

std::unique_ptr<SinkThreads::Block> SinkThreads::empty_block() {
    const std::lock_guard lock(mutex_);
    if (empty_.empty())
        return std::make_unique<Block>();
    auto block = std::move(empty_.back());
    empty_.pop_back();
    return block;
}

void SinkThreads::put_back(std::unique_ptr<Block> block) {
    block->clear();
    const std::lock_guard lock(mutex_);
    empty_.push_back(std::move(block));
}

// A worker that has failed takes nothing more: finish() says why.
void SinkThreads::hand_over(Front& front) {
    auto block = front.take_block();
    if (threads_ == 0) {
        block->deliver(front.sink());
        return put_back(std::move(block));
    }
    const std::size_t which = front.number() % threads_;
    while (workers_.size() <= which)
        workers_.push_back(std::make_unique<Worker>(*this));
    workers_[which]->jobs.push({&front.sink(), std::move(block)});
}

void SinkThreads::finish() {
    for (const auto& worker : workers_) {
        worker->jobs.close();
        worker->stage.finish();
    }
    for (const auto& front : fronts_)
        front->take_block()->deliver(front->sink());
}

} // namespace dropledger::ledger
