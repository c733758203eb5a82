// The time, passed in so that a run can be recorded in a test without waiting.
//
// Units: steady() is µs since any fixed instant and never goes back; unix_us() is µs since 1970
// (UTC).
#pragma once

#include "analysis/base/quantity.hpp"

#include <cstdint>
#include <string>

namespace dropledger::recorder {

class Clock {
public:
    Clock() = default;
    Clock(const Clock&) = delete;
    Clock& operator=(const Clock&) = delete;
    virtual ~Clock() = default;

    [[nodiscard]] virtual Microseconds steady() = 0;
    [[nodiscard]] virtual std::int64_t unix_us() = 0;
    virtual void wait(Microseconds time) = 0;
};

class SystemClock final : public Clock {
public:
    [[nodiscard]] Microseconds steady() override;
    [[nodiscard]] std::int64_t unix_us() override;
    void wait(Microseconds time) override;
};

[[nodiscard]] std::string rfc3339(std::int64_t unix_us); // UTC, whole seconds

} // namespace dropledger::recorder
