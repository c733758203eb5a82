// What a virtual bench is made of: read from a TOML file, checked, with everything invented said so
// in it.
//
// Units: in the names. "drop" in the ordinals of faults is the commanded drop (single, portion) or
// the n-th seed of the flow (line).
// Undefined when: a key is unknown, missing or out of range: the file is refused with line, key and
// what was expected.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/droplog/settings.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::bench_virtual {

using droplog::Mode;

struct CropSpec {
    std::string name;
    std::string lot;
    std::int64_t thousand_seed_mass_mg = 0;
    double seed_mm = 2.0;      // median diameter
    double seed_log_sd = 0.1;  // of the diameter, log scale
    double terminal_mps = 0.0; // 0: no air drag
};

// What a gate loses between two drops, linearly; constant after.
struct FadeSpec {
    std::int64_t from_drop = 0;
    std::int64_t to_drop = 0; // 0: no fade
    double detection = 1.0;   // factor on the detection probability at to_drop
    double depth = 1.0;       // factor on the depth at to_drop
};

struct GateSpec {
    bool above = false;               // above the valve: counts only
    double height_mm = 0.0;           // below: over ground; above: under the metering disc
    double beam_mm = 3.0;             // thickness of the light sheet
    double detection = 1.0;           // probability that one seed is registered at all
    std::int64_t threshold_milli = 0; // shallower pulses are not reported
    std::int64_t dead_us = 100;       // blind after each pulse
    double width_log_sd = 0.1;        // scatter of the width beyond that of seed size
    double depth_log_sd = 0.1;        // likewise of the depth
    double debris_per_m = 0.0;        // dust and chaff, per metre of travel
    double debris_width_us = 120.0;   // median
    double debris_depth_milli = 120.0;
    FadeSpec fade;
};

struct WornCell {
    std::int64_t cell = 0; // 0 … cells - 1
    double fill = 0.0;     // its own fill probability
};

struct BridgingSpec {
    double per_1000_drops = 0.0; // bursts that start in 1000 drops
    double mean_drops = 0.0;     // mean length of a burst (geometric)
    double fill = 0.0;           // fill probability inside a burst
};

struct StartupSpec {
    std::int64_t drops = 0; // how many first drops suffer
    double fill = 1.0;      // their fill probability
};

struct UnitSpec {
    std::string unit;
    std::int64_t row = 1;
    std::int64_t cells = 0;         // of the metering disc; 0: not a disc
    double fill = 1.0;              // a seed in a cell
    double doubles = 0.0;           // a second seed, given a first
    double double_gap_us = 12000.0; // mean gap of the second behind the first, leaving the disc
    double fill_loss_per_mps = 0.0; // of the fill, per m/s of travel over 0
    double gap_cv =
        1.0; // line: variation of the gaps; 0 regular, 1 random (Poisson), over 1 clustered
    double disc_jitter_us = 4000.0;
    double disc_phase =
        0.5;                // the seed reaches the valve this share of a spacing before the command
    double tube_mm = 120.0; // disc to valve
    double valve_height_mm = 400.0; // valve to ground
    double exit_speed_mps = 0.0;
    double flight_cv = 0.01; // scatter of the flight time from seed to seed
    double valve_lag_us = 15000.0;
    double valve_jitter_us = 1000.0;
    double valve_drift_us_per_1000 = 0.0; // added to the lag in 1000 drops
    double valve_open_us = 60000.0;
    double release_least_us =
        0.0; // seeds of one opening follow each other at least this far apart,
    double release_gap_us = 8000.0;       // and on average this much more
    std::optional<std::int64_t> lead_us;  // empty: lag and nominal flight exactly compensated
    std::int64_t offset_um = 0;           // the channel fires at position + offset
    double stray_per_m = 0.0;             // seeds that slip past the closed valve
    std::int64_t empty_from_drop = -1;    // the hopper is empty from here on; -1: never
    std::optional<std::int64_t> gates_on; // the channel that its gates are plugged in as
    std::vector<WornCell> worn_cells;
    BridgingSpec bridging;
    StartupSpec startup;
    std::array<std::optional<GateSpec>, 2> gates;
};

struct ScriptedFault {
    double at_s = 0.0; // after go
    std::int64_t channel = -1;
    std::string code;
};

struct Scenario {
    std::string name;
    std::string note;
    std::string text_sha256; // of the file it was read from
    std::uint64_t seed = 0;
    std::string bench_id;
    std::string person; // who is at the bench
    std::string profile;
    std::string firmware;
    std::string serial; // of the controller; the bench's id where empty
    Mode mode = Mode::single;
    std::int64_t spacing_um = 0;       // single, portion: between commanded drops
    std::int64_t count = 1;            // portion: seeds per drop
    std::int64_t rate_per_m_milli = 0; // line
    std::int64_t speed_um_s = 0;
    double speed_ripple = 0.005; // amplitude, share of the speed
    double ripple_period_s = 1.3;
    std::int64_t encoder_um = 50; // one count of the travel encoder
    std::int64_t travel_every_us = 200000;
    std::int64_t shuffle_us = 30000; // lines leave up to this late
    std::uint32_t tick_start = 0;
    std::int64_t buffer_lines = 20000;
    std::int64_t drops = 500; // where no one says how many; line: seeds aimed at
    CropSpec crop;
    std::vector<UnitSpec> channels;
    std::vector<ScriptedFault> faults;
};

// What its controller calls itself: the program, and behind `#` the serial of this single one.
[[nodiscard]] std::string name_of_bench(const Scenario& scenario);

[[nodiscard]] Result<Scenario> read_scenario(const std::string& path);
// `name` stands in messages where a file name would.
[[nodiscard]] Result<Scenario> parse_scenario(std::string_view toml, const std::string& name);

// Channel and key of the `@set` and `@channel` lines that fit the scenario; channel -1 is `@set`.
struct Setting {
    std::int64_t channel = -1;
    std::string key;
    std::string value;
};
[[nodiscard]] std::vector<Setting> suggested_settings(const Scenario& scenario);

} // namespace dropledger::bench_virtual
