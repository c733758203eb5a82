#include "bench/recorder/protocol/plan/clock.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <future>
#include <thread>

namespace dropledger::recorder {
namespace {

TEST(Ticker, CallsOnAThreadOfItsOwnUntilItIsDestroyed) {
    SystemClock clock;
    std::promise<std::thread::id> third;
    std::atomic<int> calls = 0;
    auto ticker = clock.every(Microseconds{100}, [&] {
        if (++calls == 3)
            third.set_value(std::this_thread::get_id());
    });
    EXPECT_NE(third.get_future().get(), std::this_thread::get_id());
    ticker.reset();
    const int after = calls;
    EXPECT_GE(after, 3);
    EXPECT_EQ(calls, after);
}

TEST(Ticker, EndsAtOnceWhereItsFirstCallIsFarOff) {
    SystemClock clock;
    int calls = 0;
    clock.every(Microseconds{3'600'000'000}, [&] { ++calls; }).reset();
    EXPECT_EQ(calls, 0);
}

} // namespace
} // namespace dropledger::recorder
