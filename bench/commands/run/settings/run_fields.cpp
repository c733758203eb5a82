#include "bench/commands/run/settings/run_fields.hpp"

#include <algorithm>
#include <array>

namespace dropledger::cli {

namespace {

using Options = RunOptions;
using Value = ChannelValue;

constexpr std::array<RunField, 18> fields{
    {{"port", &Options::port, "serial port of the bench, or the link of a virtual bench", ""},
     {"baud", &Options::baud, "bits per second, 8N1 (default 115200)", ""},
     {"mode", &Options::mode, "single, portion or line (default single)", "mode"},
     {"spacing_mm", &Options::spacing_mm, "distance between commanded drops (single, portion)",
      "spacing_um"},
     {"count", &Options::count, "seeds per commanded drop (portion)", "count"},
     {"rate_per_m", &Options::rate_per_m, "target seeds per metre (line)", "rate_per_m_milli"},
     {"speed_mps", &Options::speed_mps, "travel speed in m/s", "speed_um_s"},
     {"drops", &Options::drops, "commanded drops per channel (line: seeds)", "drops"},
     {"most_drops_per_s", &Options::most_drops_per_s,
      "drops a second that a unit can make (line: seeds); faster orders are refused", ""},
     {"profile", &Options::profile, "tolerance profile, noted in the log for the audit",
      "tolerance"},
     {"calibration", &Options::calibration,
      "calibration in force: its record's file, or its id; several are separated by commas",
      "calibration"},
     {"book", &Options::book, "bench book: the calibration is taken from it, the run entered in it",
      ""},
     {"bench", &Options::bench, "name of the bench", "bench"},
     {"operator", &Options::person, "who runs it", "operator"},
     {"crop", &Options::crop, "crop of the seed", "crop"},
     {"seed_lot", &Options::seed_lot, "lot of the seed", "seed_lot"},
     {"thousand_seed_mass_mg", &Options::thousand_seed_mass_mg, "mass of 1000 seeds in mg",
      "thousand_seed_mass_mg"},
     {"channels", &Options::channels, "channels that run: 0,2 or 0-5 (default: one per --unit)",
      "channels"}}};

constexpr std::array<ChannelField, 15> settings{
    {{"unit", Value::text, std::nullopt}, // --unit, one a channel
     {"row", Value::from_one, std::nullopt},
     {"cells", Value::from_one,
      ForAllChannels{"cells", &Options::cells, "cells of the metering disc, all channels"}},
     {"lead_us", Value::whole_us,
      ForAllChannels{"lead_us", &Options::lead_us, "valve lead in force, all channels"}},
     {"gate0_place", Value::place,
      ForAllChannels{"gate_place", &Options::gate_place,
                     "the unit's own sensor: above or below the valve"}},
     {"gate0_fall_us", Value::whole_us,
      ForAllChannels{"gate_fall_us", &Options::gate_fall_us,
                     "flight time from that sensor to the ground"}},
     {"gate0_dead_us", Value::whole_us,
      ForAllChannels{"gate_dead_us", &Options::gate_dead_us,
                     "how long that sensor is blind after a pulse"}},
     {"gate0_fall_u_us", Value::whole_us, std::nullopt},
     {"gate0_height_mm", Value::height_mm, std::nullopt},
     {"gate1_place", Value::place, std::nullopt},
     {"gate1_fall_us", Value::whole_us, std::nullopt},
     {"gate1_fall_u_us", Value::whole_us, std::nullopt},
     {"gate1_height_mm", Value::height_mm, std::nullopt},
     {"valve_height_mm", Value::height_mm, std::nullopt},
     {"gate1_dead_us", Value::whole_us, std::nullopt}}};

} // namespace

std::span<const RunField> run_fields() {
    return fields;
}

std::span<const ChannelField> channel_fields() {
    return settings;
}

std::string option_name(std::string_view field) {
    std::string name = "--" + std::string(field);
    std::replace(name.begin(), name.end(), '_', '-');
    return name;
}

} // namespace dropledger::cli
