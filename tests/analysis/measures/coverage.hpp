// How often nominal 95 % intervals hold the truth, by simulating runs whose truth is known.
//
// Units: lengths µm. The same seed gives the same runs.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

namespace dropledger::measures::coverage {

enum class Steps {
    normal,
    skewed, // exponential
    heavy   // one of ten three times as far
};

struct Scenario {
    std::string name;
    double miss = 0.02;           // share of drops, long run
    double burst = 1.0;           // mean length of a row of misses; 1: independent
    double doubled = 0.02;        // share of the drops that are not missed
    int cells = 0;                // of the disc; 0: none is bad
    double bad_cell_miss = 0.0;   // one cell misses so often,
    double bad_cell_double = 0.0; // another doubles so often
    double memory = 0.0;          // correlation of neighbouring drops' placement errors
    Steps steps = Steps::normal;  // of those errors
};

[[nodiscard]] const std::vector<Scenario>& scenarios();

struct Covered {
    int runs = 0;
    int defined = 0; // runs with an interval
    int held = 0;    // of them, the interval holds the truth
    [[nodiscard]] double share() const {
        return static_cast<double>(held) / static_cast<double>(defined);
    }
};

struct Study {
    std::int64_t drops = 250;
    int runs = 1000;
    std::uint64_t seed = 1;
    std::int64_t drops_for_truth = 1'000'000; // one long run gives the true values
};

// By quantity, named as in the audit's JSON.
[[nodiscard]] std::map<std::string, Covered> study(const Scenario& scenario, const Study& how);

} // namespace dropledger::measures::coverage
