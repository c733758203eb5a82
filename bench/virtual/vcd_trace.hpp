// What a logic analyser with a clock of 1 MHz would see of a run on the virtual bench: an encoder, each
// valve's command, each gate's beam; as a value change dump (IEEE 1364-2005, clause 18).
//
// Units: µs since `go`. A signal that changes twice within one sample shows the later level only.
#pragma once

#include "bench/virtual/unit/event.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include <functional>
#include <string>
#include <string_view>

namespace dropledger::bench_virtual {

struct TraceSinks {
    std::function<void(std::string_view)> text;
    TruthSink truth; // may be empty
};

void trace_vcd(const Scenario& scenario, const TraceSinks& sinks);

// The wiring file (TOML) for `dropledger capture` that fits such a dump.
[[nodiscard]] std::string vcd_wiring(const Scenario& scenario);

} // namespace dropledger::bench_virtual
