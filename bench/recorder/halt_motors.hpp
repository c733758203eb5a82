// Stops the motors when nothing can be recorded any more.
//
// Assumes: the log takes no more lines; what the controller sends meanwhile stays with it,
// unacknowledged.
#pragma once

#include "bench/link/transport.hpp"
#include "bench/recorder/clock.hpp"
#include "bench/recorder/plan.hpp"

namespace dropledger::recorder {

// Whether the controller has confirmed the halt within the timings' limit.
[[nodiscard]] bool halt_motors(link::Transport& link, Clock& clock, const Timings& timings);

} // namespace dropledger::recorder
