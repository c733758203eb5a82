// Cumulative sums: a slow shift of a mean shows as a line that leaves the band.
//
// Assumes: independent normal values with a known target for the average run lengths.
// Units: target, allowance and limit in the unit of the values; run lengths take them in standard
// deviations. Source: NIST/SEMATECH e-Handbook 6.3.2.3; run length by a Markov chain, Brook & Evans
// 1972.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace dropledger::statistics {

struct CusumSettings {
    double target = 0.0;
    double allowance = 0.0; // k: half the shift to be found
    double limit = 0.0;     // h
};

struct CusumPoint {
    double high = 0.0; // above the target
    double low = 0.0;  // below the target
};

struct Cusum {
    std::vector<CusumPoint> points;
    std::optional<std::size_t> first_signal; // index of the first value beyond the limit
};

[[nodiscard]] Cusum cusum(std::span<const double> values, const CusumSettings& settings);

// Mean number of values until a one-sided cusum signals; all in standard deviations.
struct RunLengthQuestion {
    double allowance = 0.5;
    double limit = 4.0;
    double shift = 0.0;
};
[[nodiscard]] double average_run_length(const RunLengthQuestion& question);
// Two-sided: 1/ARL = 1/ARL(shift) + 1/ARL(-shift).
[[nodiscard]] double average_run_length_two_sided(const RunLengthQuestion& question);

} // namespace dropledger::statistics
