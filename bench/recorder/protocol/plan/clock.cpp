#include "bench/recorder/protocol/plan/clock.hpp"

#include "analysis/base/result.hpp"

#include <condition_variable>
#include <mutex>
#include <thread>
#include <utility>

namespace dropledger::recorder {

namespace {

class ThreadTicker final : public Ticker {
public:
    ThreadTicker(Microseconds period, std::function<void()> call)
        : period_(period), call_(std::move(call)), thread_([this] { run(); }) {}
    ~ThreadTicker() override {
        {
            const std::lock_guard lock(mutex_);
            ends_ = true;
        }
        ended_.notify_all();
        thread_.join();
    }

private:
    void run() {
        std::unique_lock lock(mutex_);
        while (!ended_.wait_for(lock, period_, [this] { return ends_; })) {
            lock.unlock();
            call_();
            lock.lock();
        }
    }

    const Microseconds period_;
    const std::function<void()> call_;
    std::mutex mutex_;
    std::condition_variable ended_;
    bool ends_ = false;
    std::thread thread_; // last: it uses the others
};

} // namespace

Microseconds SystemClock::steady() {
    timespec now{};
    if (::clock_gettime(CLOCK_BOOTTIME, &now) != 0)
        throw BrokenInvariant("this machine has no clock that never goes back");
    return std::chrono::duration_cast<Microseconds>(std::chrono::seconds{now.tv_sec} +
                                                    std::chrono::nanoseconds{now.tv_nsec});
}

std::int64_t SystemClock::unix_us() {
    return std::chrono::duration_cast<Microseconds>(
               std::chrono::system_clock::now().time_since_epoch())
        .count();
}

void SystemClock::wait(Microseconds time) {
    std::this_thread::sleep_for(time);
}

std::unique_ptr<Ticker> SystemClock::every(Microseconds period, std::function<void()> call) {
    return std::make_unique<ThreadTicker>(period, std::move(call));
}

} // namespace dropledger::recorder
