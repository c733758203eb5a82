// What the controller is doing, as its own lines say; the same for a live run and for a log read
// again.
#pragma once

#include "analysis/droplog/line.hpp"

#include <cstdint>

namespace dropledger::recorder {

enum class ControllerState : std::uint8_t { idle, armed, started, halted };

[[nodiscard]] inline ControllerState after(ControllerState before, droplog::LineName line) {
    if (line == droplog::LineName::armed)
        return ControllerState::armed;
    if (line == droplog::LineName::started)
        return ControllerState::started;
    if (line == droplog::LineName::halted)
        return ControllerState::halted;
    return before;
}

} // namespace dropledger::recorder
