// Leave to set motors in motion: given by a person to this process, for one start.
//
// Assumes: only StartPrompt makes a StartConfirmed and only GoOrder makes a `go` line, which takes
// one: no code path can send `go` unasked.
// Undefined when: never; a leave that was moved away is a bug of ours where it is used again.
// Units: µs since 1970 (UTC).
#pragma once

#include "bench/recorder/protocol/plan/clock.hpp"

#include "analysis/base/result.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <string>

namespace dropledger::recorder {

class StartConfirmed {
public:
    StartConfirmed(StartConfirmed&& other) noexcept;
    StartConfirmed& operator=(StartConfirmed&& other) noexcept;
    StartConfirmed(const StartConfirmed&) = delete;
    StartConfirmed& operator=(const StartConfirmed&) = delete;
    ~StartConfirmed() = default;

    // On the clock that never goes back, sleep included: whoever confirmed stood there then.
    [[nodiscard]] Microseconds given_at() const { return given_at_; }

private:
    friend class StartPrompt;
    friend class GoOrder;
    explicit StartConfirmed(Clock& clock) : unix_us_(clock.unix_us()), given_at_(clock.steady()) {}

    std::optional<std::int64_t> unix_us_; // when it was given; empty once moved away
    Microseconds given_at_;
};

class StartPrompt {
public:
    // What was typed; nothing where nobody can be asked.
    using Asker = std::function<std::optional<std::string>()>;

    explicit StartPrompt(Clock& clock) : clock_(clock) {}

    // Only `yes` or `y` confirms, in whatever letters.
    [[nodiscard]] Result<StartConfirmed> ask(const Asker& asker) const;
    // --yes: whoever started this process has said so already.
    [[nodiscard]] StartConfirmed told_beforehand() const;

private:
    Clock& clock_;
};

// The `go` of one start; the same line again until it is answered.
class GoOrder {
public:
    explicit GoOrder(StartConfirmed&& confirmed);

    [[nodiscard]] std::int64_t confirmed_unix_us() const { return confirmed_unix_us_; }
    [[nodiscard]] std::string line() const; // with its CRC

private:
    std::int64_t confirmed_unix_us_;
};

} // namespace dropledger::recorder
