// Stops the motors when nothing can be recorded any more.
//
// Assumes: the log takes no more lines; what the controller sends meanwhile stays with it,
// unacknowledged.
#pragma once

#include "bench/recorder/protocol/clock.hpp"
#include "bench/recorder/protocol/plan.hpp"
#include "bench/recorder/wire.hpp"

namespace dropledger::recorder {

// Whether the controller has confirmed within the timings' limit that nothing moves: by `halted`,
// or by refusing several halts because it is idle.
[[nodiscard]] bool halt_motors(Wire& wire, Clock& clock, const Timings& timings);

} // namespace dropledger::recorder
