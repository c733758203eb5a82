#include "bench/recorder/clock.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <ctime>
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

std::string rfc3339(std::int64_t unix_us) {
    const auto second = static_cast<std::time_t>(unix_us / 1'000'000);
    return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(second));
}

} // namespace dropledger::recorder
