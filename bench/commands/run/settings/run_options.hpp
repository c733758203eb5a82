// What was asked for on the command line or in a settings file, as it stood there.
//
// Units: in the names.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/commands/shell/command.hpp"
#include "bench/recorder/protocol/plan/plan.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct RunOptions {
    std::optional<std::string> port;
    std::optional<std::int64_t> baud;
    std::optional<std::string> mode;
    std::optional<double> spacing_mm;
    std::optional<std::int64_t> count;
    std::optional<double> rate_per_m;
    std::optional<double> speed_mps;
    std::optional<std::int64_t> drops;
    std::optional<double> most_drops_per_s; // that a unit can make
    std::optional<std::string> profile;
    std::optional<std::string> calibration; // records' files or ids, separated by commas
    bool calibration_anyway = false;
    std::optional<std::string> book;
    std::optional<std::string> log;
    std::optional<std::string> key; // file that signs the log
    std::optional<std::string> bench;
    std::optional<std::string> person;
    std::optional<std::string> crop;
    std::optional<std::string> seed_lot;
    std::optional<std::int64_t> thousand_seed_mass_mg;
    std::vector<std::string> unit; // CH=SERIAL, or SERIAL in order
    std::optional<std::string> channels;
    std::optional<std::int64_t> channel_mask;
    std::optional<std::int64_t> cells;
    std::optional<std::int64_t> lead_us;
    std::optional<std::string> gate_place;
    std::optional<std::int64_t> gate_fall_us;
    std::optional<std::int64_t> gate_dead_us;
    std::vector<std::string> channel_set;                   // CH:KEY=VALUE
    std::vector<std::string> set;                           // KEY=VALUE
    std::vector<recorder::ChannelSetting> channel_settings; // from the file; options go over them
    std::optional<std::string> settings;
    std::optional<std::string> resume;
    std::optional<std::string> diagnostics; // file
    bool verbose = false;
    bool until_decided = false;
    bool yes = false;
    bool discard_held = false;
    bool list_ports = false;
    bool probe = false;
    bool json = false;
};

// Those that the settings file has in [run].
void declare_run_fields(Command& command, RunOptions& options);
// Single where none is named.
[[nodiscard]] Result<droplog::Mode> mode_of(const RunOptions& options);

void declare_run_options(Command& command, RunOptions& options);

// Fills what the command line left open from the TOML file at `path`.
[[nodiscard]] Status add_settings_file(const std::string& path, RunOptions& options);
// The same of its text; `path` is for messages.
[[nodiscard]] Status add_settings(std::string_view text, const std::string& path,
                                  RunOptions& options);

// Checked in full, so that nothing is found wrong once motors turn. The plan has no run id and no
// calibration yet.
[[nodiscard]] Result<recorder::RunPlan> plan_of(const RunOptions& options);

} // namespace dropledger::cli
