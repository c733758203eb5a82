// The time, passed in so that a run can be recorded in a test without waiting.
//
// Units: steady() is µs since any fixed instant, never goes back, and goes on while the machine
// sleeps; unix_us() is µs since 1970 (UTC).
#pragma once

#include "analysis/base/units.hpp"

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

namespace dropledger::recorder {

// Calls again and again until it is destroyed, which waits for a call that is under way.
class Ticker {
public:
    Ticker() = default;
    Ticker(const Ticker&) = delete;
    Ticker& operator=(const Ticker&) = delete;
    virtual ~Ticker() = default;
};

class Clock {
public:
    Clock() = default;
    Clock(const Clock&) = delete;
    Clock& operator=(const Clock&) = delete;
    virtual ~Clock() = default;

    [[nodiscard]] virtual Microseconds steady() = 0;
    [[nodiscard]] virtual std::int64_t unix_us() = 0;
    virtual void wait(Microseconds time) = 0;
    // On a thread of its own; the first call comes after one period.
    [[nodiscard]] virtual std::unique_ptr<Ticker> every(Microseconds period,
                                                        std::function<void()> call) = 0;
};

class SystemClock final : public Clock {
public:
    [[nodiscard]] Microseconds steady() override;
    [[nodiscard]] std::int64_t unix_us() override;
    void wait(Microseconds time) override;
    [[nodiscard]] std::unique_ptr<Ticker> every(Microseconds period,
                                                std::function<void()> call) override;
};

} // namespace dropledger::recorder
