#include "bench/recorder/clock.hpp"

#include <thread>

namespace dropledger::recorder {

Microseconds SystemClock::steady() {
    return std::chrono::duration_cast<Microseconds>(
        std::chrono::steady_clock::now().time_since_epoch());
}

std::int64_t SystemClock::unix_us() {
    return std::chrono::duration_cast<Microseconds>(
               std::chrono::system_clock::now().time_since_epoch())
        .count();
}

void SystemClock::wait(Microseconds time) {
    std::this_thread::sleep_for(time);
}

} // namespace dropledger::recorder
