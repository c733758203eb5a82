// Stops the motors when nothing can be recorded any more.
//
// Assumes: the log takes no more lines; what the controller sends meanwhile stays with it,
// unacknowledged.
#pragma once

#include "bench/recorder/protocol/plan/clock.hpp"
#include "bench/recorder/protocol/plan/plan.hpp"
#include "bench/recorder/wire.hpp"

#include <cstdint>
#include <optional>

namespace dropledger::recorder {

// What was heard of the controller before: its answers to that confirm no halt.
struct HeardBefore {
    std::optional<std::uint32_t> newest_seq; // of its boot
    int goes_unanswered = 0;                 // each may still be refused
};

// Whether the controller has confirmed within the timings' limit that nothing moves: by `halted`,
// or by refusing several halts because it is idle.
[[nodiscard]] bool halt_motors(Wire& wire, Clock& clock, const Timings& timings,
                               const HeardBefore& before = {});

// For the operator.
[[nodiscard]] inline std::string outcome_of_halt(bool confirmed) {
    return confirmed ? "the motors are halted"
                     : "the halt is not confirmed: make sure that the motors stand still";
}

} // namespace dropledger::recorder
