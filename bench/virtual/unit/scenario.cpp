#include "bench/virtual/unit/scenario.hpp"

#include "analysis/base/readers/nesting.hpp"
#include "analysis/droplog/seal.hpp"
#include "analysis/droplog/settings.hpp"
#include "bench/io/file_source.hpp"
#include "bench/virtual/unit/toml_fields.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

namespace dropledger::bench_virtual {

namespace {

using droplog::GatePlace;

constexpr Limits share{0.0, 1.0};
constexpr Limits ordinal{0.0, 1e9};
constexpr double most_us = 500000.0; // no delay of a unit is longer than half a second
constexpr auto required = Presence::required;
constexpr std::array<const char*, 7> fault_codes{
    "estop", "guard", "motor_stall", "gate_blocked", "valve_stuck", "low_voltage", "host_silent"};

GateSpec usual_gate(std::size_t gate) {
    GateSpec spec;
    spec.above = gate == 0;
    spec.height_mm = 50.0;
    return spec;
}

// Reads one file's tables and keeps the first complaint.
class ScenarioParser {
public:
    Result<Scenario> parse(TomlDocument& document);

private:
    using Reading = std::function<void(TomlFields&)>;

    static void in(std::optional<TomlTable> table, const std::string& section,
                   const Reading& reading);
    void top(TomlFields& root);
    void bench(TomlFields& keys);
    void bench_wire(TomlFields& keys);
    void crop(TomlFields& keys);
    void channels(TomlFields& root);
    void unit(TomlFields& keys, UnitSpec& unit);
    static void unit_disc(TomlFields& keys, UnitSpec& unit);
    static void unit_valve(TomlFields& keys, UnitSpec& unit);
    void unit_faults(TomlFields& keys, UnitSpec& unit);
    void gate(TomlFields& keys, GateSpec& gate);
    void gate_sensing(TomlFields& keys, GateSpec& gate);
    void fault(TomlFields& keys);

    Scenario scenario_;
};

void ScenarioParser::in(std::optional<TomlTable> table, const std::string& section,
                        const Reading& reading) {
    if (!table || table->failed())
        return;
    TomlFields keys(*table, section);
    reading(keys);
    keys.finish();
}

void ScenarioParser::bench_wire(TomlFields& keys) {
    keys.integer("encoder_um", scenario_.encoder_um, {1, 10000});
    keys.thousandths("travel_every_ms", scenario_.travel_every_us,
                     {1, 200}); // plus 50 ms on the way
    keys.thousandths("shuffle_ms", scenario_.shuffle_us, {0, 45});
    std::int64_t tick = scenario_.tick_start;
    keys.integer("tick_start", tick, {0, 4294967295.0});
    scenario_.tick_start = static_cast<std::uint32_t>(tick);
    keys.integer("buffer_lines", scenario_.buffer_lines, {64, 10000000});
    scenario_.firmware = "virtual-1";
    keys.text("firmware", scenario_.firmware);
    keys.text("serial", scenario_.serial);
}

void ScenarioParser::bench(TomlFields& keys) {
    keys.text("id", scenario_.bench_id, required);
    keys.text("operator", scenario_.person);
    keys.text("profile", scenario_.profile);
    std::string mode;
    keys.text("mode", mode, required);
    if (const auto known = droplog::mode_of(mode))
        scenario_.mode = *known;
    else if (!mode.empty())
        keys.complain("mode", "single, portion or line");
    const bool line = scenario_.mode == Mode::line;
    if (!line)
        keys.thousandths("spacing_mm", scenario_.spacing_um, {5, 10000}, required);
    if (scenario_.mode == Mode::portion)
        keys.integer("count", scenario_.count, {2, 50}, required);
    if (line)
        keys.thousandths("rate_per_m", scenario_.rate_per_m_milli, {0.1, 1000}, required);
    double speed_mps = 0.0;
    keys.number("speed_mps", speed_mps, {0.01, 5}, required);
    scenario_.speed_um_s = std::llround(speed_mps * 1e6);
    keys.number("speed_ripple", scenario_.speed_ripple, {0, 0.2});
    keys.number("ripple_period_s", scenario_.ripple_period_s, {0.2, 60});
    scenario_.drops = 500;
    keys.integer("drops", scenario_.drops, {1, 1e8});
    bench_wire(keys);
}

void ScenarioParser::crop(TomlFields& keys) {
    CropSpec& crop = scenario_.crop;
    keys.text("name", crop.name, required);
    keys.text("lot", crop.lot);
    keys.integer("thousand_seed_mass_mg", crop.thousand_seed_mass_mg, {1, 2000000});
    keys.number("seed_mm", crop.seed_mm, {0.2, 30}, required);
    keys.number("seed_log_sd", crop.seed_log_sd, {0, 0.5});
    keys.number("terminal_mps", crop.terminal_mps, {0, 30});
    if (crop.terminal_mps > 0.0 && crop.terminal_mps < 1.0)
        keys.complain("terminal_mps", "0 (no air drag) or a speed from 1 to 30");
}

void ScenarioParser::unit_disc(TomlFields& keys, UnitSpec& unit) {
    keys.text("unit", unit.unit);
    keys.integer("row", unit.row, {1, 1000});
    keys.integer("cells", unit.cells, {0, 1000});
    keys.number("fill", unit.fill, share);
    keys.number("doubles", unit.doubles, share);
    keys.number("double_gap_us", unit.double_gap_us, {0, most_us});
    keys.number("fill_loss_per_mps", unit.fill_loss_per_mps, share);
    keys.number("gap_cv", unit.gap_cv, {0, 5});
    keys.number("disc_jitter_us", unit.disc_jitter_us, {0, most_us});
    keys.number("disc_phase", unit.disc_phase, {-0.5, 1});
    keys.number("tube_mm", unit.tube_mm, {0, 2000});
}

void ScenarioParser::unit_valve(TomlFields& keys, UnitSpec& unit) {
    keys.number("valve_height_mm", unit.valve_height_mm, {1, 3000});
    keys.number("exit_speed_mps", unit.exit_speed_mps, {0, 0.9});
    keys.number("flight_cv", unit.flight_cv, {0, 0.2});
    keys.number("valve_lag_us", unit.valve_lag_us, {0, most_us});
    keys.number("valve_jitter_us", unit.valve_jitter_us, {0, most_us});
    keys.number("valve_drift_us_per_1000", unit.valve_drift_us_per_1000, {-most_us, most_us});
    keys.number("valve_open_us", unit.valve_open_us, {1, most_us});
    keys.number("release_least_us", unit.release_least_us, {0, most_us});
    keys.number("release_gap_us", unit.release_gap_us, {0, most_us});
    if (keys.has("lead_us")) {
        std::int64_t lead_us = 0;
        keys.integer("lead_us", lead_us, {0, 2 * most_us});
        unit.lead_us = lead_us;
    }
    keys.integer("offset_um", unit.offset_um, {-100000, 100000});
    keys.number("stray_per_m", unit.stray_per_m, {0, 100});
    keys.integer("empty_from_drop", unit.empty_from_drop, {-1, 1e9});
}

void ScenarioParser::unit_faults(TomlFields& keys, UnitSpec& unit) {
    if (keys.has("gates_on")) {
        std::int64_t channel = 0;
        keys.integer("gates_on", channel, {0, 15});
        unit.gates_on = channel;
    }
    in(keys.table("bridging"), "[bridging]", [&](TomlFields& bridging) {
        bridging.number("per_1000_drops", unit.bridging.per_1000_drops, {0, 1000}, required);
        bridging.number("mean_drops", unit.bridging.mean_drops, {1, 1e6}, required);
        bridging.number("fill", unit.bridging.fill, share);
    });
    in(keys.table("startup"), "[startup]", [&](TomlFields& startup) {
        startup.integer("drops", unit.startup.drops, ordinal, required);
        startup.number("fill", unit.startup.fill, share, required);
    });
    for (const TomlTable& table : keys.tables("worn_cell")) {
        WornCell worn;
        in(table, "[[worn_cell]]", [&](TomlFields& cell) {
            cell.integer("cell", worn.cell, {0, static_cast<double>(unit.cells) - 1.0}, required);
            cell.number("fill", worn.fill, share, required);
        });
        unit.worn_cells.push_back(worn);
    }
}

void ScenarioParser::gate_sensing(TomlFields& keys, GateSpec& gate) {
    keys.number("beam_mm", gate.beam_mm, {0.1, 100});
    keys.number("detection", gate.detection, share);
    keys.integer("threshold_milli", gate.threshold_milli, {0, 1000});
    keys.integer("dead_us", gate.dead_us, {0, 100000});
    keys.number("width_log_sd", gate.width_log_sd, {0, 1});
    keys.number("depth_log_sd", gate.depth_log_sd, {0, 1});
    keys.number("debris_per_m", gate.debris_per_m, {0, 100});
    keys.number("debris_width_us", gate.debris_width_us, {1, 100000});
    keys.number("debris_depth_milli", gate.debris_depth_milli, {1, 1000});
}

void ScenarioParser::gate(TomlFields& keys, GateSpec& gate) {
    std::string word(droplog::name_of(gate.above ? GatePlace::above : GatePlace::below));
    keys.text("place", word);
    const auto place = droplog::gate_place_of(word);
    if (!place)
        keys.complain("place", "above or below (the valve)");
    gate.above = place == GatePlace::above;
    keys.number("height_mm", gate.height_mm, {0, 3000});
    gate_sensing(keys, gate);
    in(keys.table("fade"), "[gate.fade]", [&](TomlFields& fade) {
        fade.integer("from_drop", gate.fade.from_drop, ordinal);
        fade.integer("to_drop", gate.fade.to_drop,
                     {static_cast<double>(gate.fade.from_drop) + 1.0, 1e9}, required);
        fade.number("detection", gate.fade.detection, share);
        fade.number("depth", gate.fade.depth, share);
    });
}

void ScenarioParser::unit(TomlFields& keys, UnitSpec& unit) {
    unit_disc(keys, unit);
    unit_valve(keys, unit);
    unit_faults(keys, unit);
    for (const std::size_t g : {std::size_t{0}, std::size_t{1}}) {
        const char* const name = g == 0 ? "gate0" : "gate1";
        const auto table = keys.table(name);
        if (!table)
            continue;
        GateSpec spec = unit.gates.at(g).value_or(usual_gate(g));
        in(table, std::string("[") + name + "]",
           [&](TomlFields& gate_keys) { gate(gate_keys, spec); });
        const double room = spec.above ? unit.tube_mm : unit.valve_height_mm;
        if (spec.height_mm > room)
            keys.complain(name, spec.above ? "a gate no farther under the disc than tube_mm"
                                           : "a gate no higher than valve_height_mm");
        unit.gates.at(g) = spec;
    }
}

void ScenarioParser::channels(TomlFields& root) {
    UnitSpec common;
    in(root.table("unit"), "[unit]", [&](TomlFields& keys) { unit(keys, common); });
    const auto tables = root.tables("channel");
    for (const TomlTable& table : tables) {
        UnitSpec own = common;
        own.row = static_cast<std::int64_t>(scenario_.channels.size()) + 1;
        in(table, "[[channel]]", [&](TomlFields& keys) {
            unit(keys, own);
            if (own.unit.empty())
                keys.complain("unit", "the unit's serial number");
            if (!own.gates[0] && !own.gates[1])
                keys.complain("gate0", "at least one gate, [unit.gate0] or [unit.gate1]");
        });
        scenario_.channels.push_back(own);
    }
    if (tables.empty() || tables.size() > 16)
        root.complain("channel", "1 to 16 tables, [[channel]], one for each seeding unit");
}

void ScenarioParser::fault(TomlFields& keys) {
    ScriptedFault fault;
    keys.number("at_s", fault.at_s, {0, 1e7}, required);
    keys.integer("channel", fault.channel,
                 {-1, static_cast<double>(scenario_.channels.size()) - 1.0});
    keys.text("code", fault.code, required);
    if (std::find(fault_codes.begin(), fault_codes.end(), fault.code) == fault_codes.end())
        keys.complain("code", "a fault code of the wire protocol (estop, guard, motor_stall, …)");
    scenario_.faults.push_back(fault);
}

void ScenarioParser::top(TomlFields& root) {
    root.text("name", scenario_.name, required);
    root.text("note", scenario_.note);
    std::int64_t seed = 0;
    root.integer("seed", seed, {0, 9e15}, required);
    scenario_.seed = static_cast<std::uint64_t>(seed);
    in(root.table("bench", required), "[bench]", [&](TomlFields& keys) { bench(keys); });
    in(root.table("crop", required), "[crop]", [&](TomlFields& keys) { crop(keys); });
    channels(root);
    for (const TomlTable& table : root.tables("fault"))
        in(table, "[[fault]]", [&](TomlFields& keys) { fault(keys); });
}

Result<Scenario> ScenarioParser::parse(TomlDocument& document) {
    in(document.root(), "the file", [&](TomlFields& keys) { top(keys); });
    if (document.problem())
        return *document.problem();
    std::stable_sort(scenario_.faults.begin(), scenario_.faults.end(),
                     [](const auto& a, const auto& b) { return a.at_s < b.at_s; });
    return scenario_;
}

} // namespace

Result<Scenario> parse_scenario(std::string_view toml, const std::string& name) {
    auto scenario = TomlDocument::parse(toml, name).and_then([](TomlDocument document) {
        return ScenarioParser{}.parse(document);
    });
    if (scenario)
        scenario->text_sha256 = droplog::to_hex(droplog::sha256(toml));
    return scenario;
}

std::string name_of_bench(const Scenario& scenario) {
    return scenario.firmware + " #" +
           (scenario.serial.empty() ? scenario.bench_id : scenario.serial);
}

Result<Scenario> read_scenario(const std::string& path) {
    return files::whole_file(path, most_toml_bytes).and_then([&](const std::string& text) {
        return parse_scenario(text, path);
    });
}

} // namespace dropledger::bench_virtual
