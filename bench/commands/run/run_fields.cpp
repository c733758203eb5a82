#include "bench/commands/run/run_fields.hpp"

#include <array>

namespace dropledger::cli {

namespace {

using Options = RunOptions;

constexpr std::array<RunField, 17> fields{
    {{"port", &Options::port, "serial port of the bench, or the link of a virtual bench"},
     {"baud", &Options::baud, "bits per second, 8N1 (default 115200)"},
     {"mode", &Options::mode, "single, portion or line (default single)"},
     {"spacing_mm", &Options::spacing_mm, "distance between commanded drops (single, portion)"},
     {"count", &Options::count, "seeds per commanded drop (portion)"},
     {"rate_per_m", &Options::rate_per_m, "target seeds per metre (line)"},
     {"speed_mps", &Options::speed_mps, "travel speed in m/s"},
     {"drops", &Options::drops, "commanded drops per channel (line: seeds)"},
     {"profile", &Options::profile, "tolerance profile, noted in the log for the audit"},
     {"calibration", &Options::calibration,
      "calibration in force: its record's file, or its id; several are separated by commas"},
     {"book", &Options::book,
      "bench book: the calibration is taken from it, the run entered in it"},
     {"bench", &Options::bench, "name of the bench"},
     {"operator", &Options::person, "who runs it"},
     {"crop", &Options::crop, "crop of the seed"},
     {"seed_lot", &Options::seed_lot, "lot of the seed"},
     {"thousand_seed_mass_mg", &Options::thousand_seed_mass_mg, "mass of 1000 seeds in mg"},
     {"channels", &Options::channels, "channels that run: 0,1,2 (default: one per --unit)"}}};

} // namespace

std::span<const RunField> run_fields() {
    return fields;
}

} // namespace dropledger::cli
