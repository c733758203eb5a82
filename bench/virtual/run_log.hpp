// A whole sealed droplog straight from the virtual bench, at full speed: for tests, benchmarks and studies.
//
// Assumes: the host of such a run is perfect: it acknowledges at once and never goes silent. The wall clock in the
// log is invented (2026-01-05T08:00:00Z plus bench time), the run's UUID comes from the scenario's seed.
#pragma once

#include "bench/virtual/controller.hpp"

#include "analysis/droplog/writer.hpp"

#include <functional>

namespace dropledger::bench_virtual {

struct LogSinks {
    droplog::Writer::Sink line;
    std::function<void(const RunTruth&)> truth;   // may be empty
    std::function<void(const PulseTruth&)> pulse; // may be empty
};

void simulate_log(const Scenario& scenario, const LogSinks& sinks);

// `arm,…` as the host would send it, without CRC.
[[nodiscard]] std::string arm_body(const Order& order);

} // namespace dropledger::bench_virtual
