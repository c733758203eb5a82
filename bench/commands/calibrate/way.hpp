// What the ways of calibrating take and check alike.
#pragma once

#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/shell/answer.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::cli {

struct WayOptions : Shown {
    std::optional<std::int64_t> channel;
    double confidence = 0.95;
    WriteOptions record;
};

[[nodiscard]] std::optional<int> channel_of(const WayOptions& options);
[[nodiscard]] Status check_gate(std::int64_t gate); // of --gate

} // namespace dropledger::cli
