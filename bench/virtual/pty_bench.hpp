// The virtual bench on a pseudo-terminal, in real or faster time, with a bad line where one is
// wanted.
//
// Assumes: the controller boots when the host first opens the port. With `pace` 0 the bench clock
// jumps from event to event while a run goes on, as fast as the host acknowledges, and is the wall
// clock otherwise.
// Units: instants of line faults are bench seconds after the first `go`.
#pragma once

#include "bench/virtual/controller.hpp"
#include "bench/virtual/line_noise.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::bench_virtual {

struct LineFaults {
    NoiseRates noise;               // both directions
    std::vector<double> stall_at_s; // nothing passes for a while
    std::int64_t stall_ms = 700;
    std::vector<double> reset_at_s; // the controller boots anew
    std::vector<double> pull_at_s;  // the cable is out for a while
    std::int64_t pull_ms = 1500;
    std::vector<double> estop_at_s;
    std::vector<double> guard_at_s;
    std::uint64_t seed = 1;
};

struct BenchOptions {
    std::optional<std::string> link;
    double pace = 1.0;    // times real time; 0: as fast as the host acknowledges
    bool lossy = false;   // the clock does not wait for a host that lags behind: lines may be LOST
    bool once = false;    // leave after one run, once the host is gone
    double away_s = 30.0; // with `once`: leave when the host stays away this long
    LineFaults faults;
    bool pulse_truths = false;
};

struct BenchHooks {
    std::function<void(const std::string& path)> ready; // the port can be opened
    std::function<void(const std::string& text)> say;   // what goes on, for a person
    std::function<bool()> stop_asked;
    std::function<void(const RunTruth&)> truth;
    std::function<void(const PulseTruth&)> pulse;
};

[[nodiscard]] Status serve(const Scenario& scenario, const BenchOptions& options,
                           const BenchHooks& hooks);

} // namespace dropledger::bench_virtual
