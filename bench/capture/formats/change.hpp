// What a capture tells, whatever its format: which wire changed to what level, and when.
//
// Units: picoseconds since the capture's time 0.
#pragma once

#include "analysis/base/result.hpp"

#include <cstddef>
#include <cstdint>

namespace dropledger::capture {

constexpr std::int64_t ps_per_us = 1'000'000;
constexpr std::int64_t ps_per_s = 1'000'000 * ps_per_us;
// 7 days; a capture of one run that says more has a broken time.
constexpr std::int64_t longest_ps = 604'800 * ps_per_s;

struct Change {
    std::int64_t at_ps = 0;
    std::size_t wire = 0; // as the reader was asked for them
    bool high = false;
};

class ChangeSink {
public:
    virtual ~ChangeSink() = default;
    // In order of time; the same level again may be told. The first one of a wire is its level when
    // the capture began.
    [[nodiscard]] virtual Status change(const Change& change) = 0;
    // Every change before this time has been told.
    [[nodiscard]] virtual Status until(std::int64_t at_ps) = 0;
};

} // namespace dropledger::capture
