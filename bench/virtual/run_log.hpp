// A whole sealed droplog straight from the virtual bench, at full speed: for tests, benchmarks and
// studies.
//
// Assumes: the host of such a run is perfect: it acknowledges at once and never goes silent. The
// wall clock in the log is invented (bench time after `started_s`); the run's UUID is a hash of the
// scenario's text, seed and order and of that start: the same again gives the same log.
#pragma once

#include "bench/virtual/controller.hpp"

#include "analysis/droplog/writer.hpp"

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::bench_virtual {

struct LogSinks {
    droplog::Writer::Sink line;
    std::function<void(const RunTruth&)> truth;   // may be empty
    std::function<void(const PulseTruth&)> pulse; // may be empty
    std::optional<droplog::PrivateKey> key{};     // signs the last seal
    // More settings of the run, key and value
    std::vector<std::pair<std::string, std::string>> settings{};
};

constexpr std::int64_t usual_start_s = 1767600000; // 2026-01-05T08:00:00Z

void simulate_log(const Scenario& scenario, const LogSinks& sinks,
                  std::int64_t started_s = usual_start_s);

// `arm,…` as the host would send it, without CRC.
[[nodiscard]] std::string arm_body(const Order& order);

} // namespace dropledger::bench_virtual
