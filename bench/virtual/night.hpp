// A night of sowing on three fields, with faults that are known: drops as a machine's field table
// lists them, for trying the field audit.
//
// Invented from beginning to end. Eight rows 500 mm apart, one seed every 200 mm, 16 passes of 750
// drops on each field, 0.25 m/s. Which row has which fault is drawn from the seed; three rows are
// healthy (0.5 % missing, gates that see 99.7 %):
//   bridging         lasting silences of some ten drops, twice a pass on average
//   bad_cell         one of 24 cells misses six in ten
//   empty_container  the container is empty from pass 28 until it is filled up again within pass 30
//   start_loss       the first six drops of every pass
//   dirty_sensor     the gate sees 85 % of the seeds; none is missing more than elsewhere
// The machine raises an alert at the third silent drop in a row, and at every 25th from there.
// Units: degrees (WGS 84, to 1e-7), seconds since 1970. Same seed, same bytes.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

namespace dropledger::bench_virtual {

inline constexpr double dirty_sensor_efficiency = 0.85;

constexpr std::string_view night_header = "time,pass,row,drop,lat,lon,target,seen,alert";
constexpr std::string_view night_truth_header = "pass,row,drop,seeds,seen,why";

struct NightSinks {
    std::function<void(std::string_view)> table; // lines with their LF, the header first
    std::function<void(std::string_view)> truth; // silent drops only; may be empty
};

struct NightSummary {
    std::int64_t drops = 0;
    std::int64_t alerts = 0;
    std::int64_t silent = 0;
    std::int64_t missing = 0;
};

// Columns of the truth: pass, row, drop, seeds (that fell), seen, why ("random", a fault above, or
// "sensor" where a seed fell that the gate overlooked).
NightSummary simulate_night(std::uint64_t seed, const NightSinks& sinks);

} // namespace dropledger::bench_virtual
