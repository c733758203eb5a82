// What is known of a machine, as given by options or answers; and its settings file.
//
// Units: in the names; heights over the ground.
#pragma once

#include "analysis/droplog/settings.hpp"
#include "bench/commands/inputs/settings_text.hpp"
#include "bench/commands/run/settings/run_options.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct GateOfMachine {
    static constexpr const char* there_is_none = "none";

    std::optional<std::string>
        place; // of droplog::GatePlace, or `there_is_none`; empty: nobody knows
    std::optional<double> height_mm;

    [[nodiscard]] bool is_none() const { return place == there_is_none; }
    [[nodiscard]] bool is_below() const {
        return place && droplog::gate_place_of(*place) == droplog::GatePlace::below;
    }
};

struct Machine {
    std::string file;
    RunOptions run; // its [run] fields
    std::optional<std::string> units;
    std::optional<std::string> rows;
    std::optional<double> valve_height_mm;
    double height_u_mm = 2.0; // standard uncertainty of a height by rule
    std::optional<double> terminal_mps;
    std::array<GateOfMachine, 2> gates;
    std::optional<std::int64_t> cells;
    std::optional<std::int64_t> lead_us;
    std::int64_t check_drops = 20;
    bool no_check = false;
};

// What cannot be is refused here; what the settings file itself refuses, when it is read back.
[[nodiscard]] Result<SettingsText> settings_of(const Machine& machine);

} // namespace dropledger::cli
