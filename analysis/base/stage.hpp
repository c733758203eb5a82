// A thread that works on queues to other threads.
//
// Assumes: `close` may be called from any thread and more than once; it closes every queue that the
// stage reads or fills, so that nobody waits for a stage that has ended, however it ended.
#pragma once

#include <exception>
#include <functional>
#include <thread>
#include <utility>

namespace dropledger {

class Stage {
public:
    Stage(std::function<void()> work, std::function<void()> close)
        : close_(std::move(close)), thread_([this, does = std::move(work)] { run(does); }) {}
    Stage(const Stage&) = delete;
    Stage& operator=(const Stage&) = delete;
    ~Stage() {
        close_();
        if (thread_.joinable())
            thread_.join();
    }

    // Waits for its end; throws what its work threw.
    void finish() {
        thread_.join();
        if (failure_)
            std::rethrow_exception(failure_);
    }

private:
    void run(const std::function<void()>& work) {
        try {
            work();
        } catch (...) {
            failure_ = std::current_exception();
        }
        close_();
    }

    std::function<void()> close_;
    std::exception_ptr failure_;
    std::thread thread_; // last: it uses the others
};

} // namespace dropledger
