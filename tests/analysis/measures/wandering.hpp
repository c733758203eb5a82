// How often nominal 95 % intervals of placement hold the truth where errors hang together, are
// skewed or heavy-tailed, or come in portions; and how wide they are beside the classical ones.
//
// Units: lengths µm. The same seed gives the same runs.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::measures::coverage {

enum class Steps {
    normal,
    exponential,
    contaminated
}; // contaminated: one of ten, three times as far

struct Errors {
    std::string name;
    double memory = 0.0; // correlation of neighbouring drops' errors
    double wander = 1.0; // share of the variance that has it; the rest is each drop's own
    Steps steps = Steps::normal;
    double drift = 0.0;        // along the run, in standard deviations
    double miss = 0.0;         // share of drops without seed, in rows of 5
    int seeds = 1;             // of a portion
    double seed_scatter = 0.0; // of one seed about its portion, in standard deviations
};

[[nodiscard]] const std::vector<Errors>& error_scenarios();

struct Held {
    int runs = 0;
    int defined = 0; // with an interval
    int held = 0;
    double width = 0.0; // sum over `defined`, over the classical interval's
};

struct ErrorStudy {
    std::int64_t drops = 250;
    int runs = 1000;
    std::uint64_t seed = 1;
    std::int64_t drops_for_truth = 300'000;
};

// By quantity, named as in the audit's JSON.
[[nodiscard]] std::map<std::string, Held> study(const Errors& errors, const ErrorStudy& how);

} // namespace dropledger::measures::coverage
