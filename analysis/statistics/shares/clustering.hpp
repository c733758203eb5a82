// Bursts: how likely are a run or a crowded window by chance alone?
//
// Assumes: independent entries of one share (runs), a Poisson line (scan).
// Undefined when: stated at each function.
// Source: runs, Feller 1968, XIII.7; scan, Naus 1982.
#pragma once

#include <cstdint>
#include <optional>

namespace dropledger::statistics {

struct RunQuestion {
    std::int64_t entries = 0;
    double share = 0.0;      // of the entries that make up a run
    std::int64_t length = 1; // at least so many in a row
};
// Expected number of maximal runs of at least that length.
[[nodiscard]] double expected_runs(const RunQuestion& question);

struct ScanQuestion {
    std::int64_t most = 0;        // largest count seen in any window
    double mean_per_window = 0.0; // expected in one window
    double windows = 1.0;         // length of the line over length of the window, at least 2
};
// P(some window holds `most` or more), Naus' approximation. Empty below 2 windows or for most < 1.
[[nodiscard]] std::optional<double> scan_probability(const ScanQuestion& question);

} // namespace dropledger::statistics
