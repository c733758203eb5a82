// Bursts and periods: how likely are a run, a crowded window or a preferred phase by chance alone?
//
// Assumes: independent entries of one share (runs), a Poisson line (scan), directions spread evenly
// (Rayleigh).
// Undefined when: stated at each function.
// Source: exact recursion for runs (Feller 1968, XIII.7); Naus 1982 (scan); Zar 2010, ch. 27
// (Rayleigh).
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace dropledger::statistics {

struct RunQuestion {
    std::int64_t entries = 0;
    double share = 0.0;      // of the entries that make up a run
    std::int64_t length = 1; // at least so many in a row
};
// P(some run of at least that length); 1 for length < 1.
[[nodiscard]] double run_probability(const RunQuestion& question);
// Expected number of maximal runs of at least that length.
[[nodiscard]] double expected_runs(const RunQuestion& question);

struct ScanQuestion {
    std::int64_t most = 0;        // largest count seen in any window
    double mean_per_window = 0.0; // expected in one window
    double windows = 1.0;         // length of the line over length of the window, at least 2
};
// P(some window holds `most` or more), Naus' approximation. Empty below 2 windows or for most < 1.
[[nodiscard]] std::optional<double> scan_probability(const ScanQuestion& question);

struct Rayleigh {
    double mean_length = 0.0;    // 0 … 1
    double mean_direction = 0.0; // radians, 0 … 2 pi
    double z = 0.0;
    double p = 1.0;
};
// Empty for no directions.
[[nodiscard]] std::optional<Rayleigh> rayleigh_test(std::span<const double> radians);

// Are the lengths of the runs of one kind as the share makes them (geometric)? runs[i]: number of
// runs of length i + 1. Lengths are pooled from the long end until each class expects five. Empty
// for fewer than three classes (one degree of freedom goes to the share).
struct RunLengthTest {
    double share = 0.0; // of one more in a row, estimated from the runs
    double chi_squared = 0.0;
    double degrees = 0.0;
    double p = 1.0;
};
[[nodiscard]] std::optional<RunLengthTest> run_length_test(std::span<const std::int64_t> runs);

} // namespace dropledger::statistics
