// Runs with one known fault, and which causes are named for them.
//
// Constructed: 1,000 drops 180 mm apart, misses 1 %, multiples 1 %, placement 8 mm standard
// deviation, two gates of efficiency 0.995 on one channel, pulses of 15 % standard deviation in
// depth; strengths of the faults as in `strength_of`.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace dropledger::causes {

enum class Fault {
    none,
    bad_cell,
    bad_cell_unknown,
    double_cell,
    bridging,
    empty,
    start,
    drift,
    lag,
    blind_gate,
    dim_sensor,
    double_feeding
};
inline constexpr int fault_count = 12;

[[nodiscard]] std::string name_of(Fault fault);
[[nodiscard]] std::string strength_of(Fault fault);
[[nodiscard]] std::string kind_of(Fault fault); // the cause that should be named; empty for none

// Kinds named in one run.
[[nodiscard]] std::vector<std::string> named(Fault fault, std::uint32_t seed);

// How many of so many runs each kind was named in; "" counts the runs in which none was.
[[nodiscard]] std::map<std::string, int> confusion(Fault fault, std::uint32_t runs,
                                                   std::uint32_t seed);

// Healthy runs whose placement errors wander: neighbours correlate by `memory`, 8 mm standard
// deviation about their places, or drift by so many mm along the run. In how many of so many runs
// each kind is named.
struct Wander {
    double memory = 0.0;
    double drift_mm = 0.0;
    int drops = 1000;
};
[[nodiscard]] std::map<std::string, int> named_of_wandering(const Wander& wander, int runs,
                                                            std::uint64_t seed);

} // namespace dropledger::causes
