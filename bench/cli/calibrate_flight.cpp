#include "analysis/report/estimate_json.hpp"
#include "bench/cli/calibrate.hpp"
#include "bench/cli/calibrate_output.hpp"
#include "bench/cli/calibrations.hpp"
#include "bench/cli/usage.hpp"
#include "bench/files/file_source.hpp"
#include "calibration/flight.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

using namespace dropledger::calibration;
using Json = nlohmann::ordered_json;

constexpr const char* manual = R"(DESCRIPTION
  How long a seed falls from a gate to the ground. From geometry: height, speed at the gate and, where known, the
  seed's terminal speed (quadratic drag; without it air is left out, which costs some milliseconds), uncertainties by
  JCGM 100. Better from data: a run over a strip, landings measured by rule.

INPUT
  --csv FILE, one row a seed: position_mm and speed_mps of the travel when the gate saw it (back: below 0), and
  landing_mm. --rule-u-mm is what all landings share, such as where the rule's zero lies.

OUTPUT
  --json: flight_us, u_us, landings, scatter_us.

EXIT STATUS
  0 done, 64 values that cannot be, 65 nothing to read, 74 file trouble.

EXAMPLES
  dropledger calibrate flight --height-mm 400 --height-u-mm 2 --exit-mps 0.5 --exit-u-mps 0.05
  dropledger calibrate flight --csv landings.csv --rule-u-mm 0.5)";

struct Options {
    std::optional<double> height_mm;
    double height_u_mm = 0.0;
    double exit_mps = 0.0;
    double exit_u_mps = 0.0;
    std::optional<double> terminal_mps;
    double terminal_u_mps = 0.0;
    std::optional<std::string> csv;
    double rule_u_mm = 0.0;
    double confidence = 0.95;
    bool json = false;
    std::int64_t gate = 1;
    WriteOptions record;
};

Result<FlightResult> from_csv(const Options& options) {
    constexpr std::size_t longest = std::size_t{64} * 1024 * 1024;
    const auto source = files::open_file(*options.csv)();
    if (!source)
        return source.error();
    const auto text = read_whole(**source, longest);
    if (!text)
        return text.error();
    const auto landings = read_landings(*text, *options.csv);
    if (!landings)
        return landings.error();
    return flight(*landings, options.rule_u_mm, Confidence{options.confidence});
}

Result<FlightResult> find(const Options& options) {
    if (!calibrate::is_confidence(options.confidence))
        return usage("--confidence", "no confidence level", "between 0 and 1: 0.95");
    if (options.csv.has_value() == options.height_mm.has_value())
        return usage("--height-mm", "geometry or landings are needed, not both", "give --height-mm, or --csv FILE");
    if (options.csv)
        return from_csv(options);
    FlightGeometry geometry{{*options.height_mm, options.height_u_mm}, {options.exit_mps, options.exit_u_mps}, {}};
    if (options.terminal_mps)
        geometry.terminal_mps = Input{*options.terminal_mps, options.terminal_u_mps};
    return flight(geometry, Confidence{options.confidence});
}

Status write(const Options& options, const FlightResult& found) {
    if (options.gate != 0 && options.gate != 1)
        return usage("--gate", "no such gate", "0 or 1");
    calibration::Record record;
    record.holds_for.gate = static_cast<int>(options.gate);
    record.flight_us = calibration::ValueWithU{found.flight_us.value, found.u_us};
    const auto tables = options.csv ? std::vector{*options.csv} : std::vector<std::string>{};
    return write_record(options.record, std::move(record), {{}, tables, {}});
}

Result<int> run(const Options& options) {
    const auto found = find(options);
    if (!found)
        return found.error();
    if (const Status status = write(options, *found); !status)
        return status.error();
    if (!options.json) {
        fmt::print("flight {} us, standard uncertainty {:.0f} us ({})\n", calibrate::in_words(found->flight_us, 0),
                   found->u_us, found->flight_us.method);
        if (found->scatter_us)
            fmt::print("{} landings, scatter from seed to seed {:.0f} us\n", found->landings, *found->scatter_us);
        return 0;
    }
    Json json = calibrate::begin_json();
    json["flight_us"] = report::estimate_json(found->flight_us);
    json["u_us"] = found->u_us;
    json["landings"] = found->landings;
    json["scatter_us"] = found->scatter_us ? Json(*found->scatter_us) : Json(nullptr);
    calibrate::print_json(json);
    return 0;
}

} // namespace

void add_calibrate_flight(Command& calibrate) {
    const auto options = std::make_shared<Options>();
    Command command = calibrate.subcommand("flight", "how long a seed falls from a gate to the ground");
    add_write_options(command, options->record);
    command.option("--gate", options->gate, "gate that the record is for")
        .option("--height-mm", options->height_mm, "gate over ground")
        .option("--height-u-mm", options->height_u_mm, "its standard uncertainty")
        .option("--exit-mps", options->exit_mps, "speed at the gate, downwards")
        .option("--exit-u-mps", options->exit_u_mps, "its standard uncertainty")
        .option("--terminal-mps", options->terminal_mps, "terminal speed of the seed; none: without air")
        .option("--terminal-u-mps", options->terminal_u_mps, "its standard uncertainty")
        .option("--csv", options->csv, "landings measured by rule instead")
        .option("--rule-u-mm", options->rule_u_mm, "standard uncertainty that all landings share")
        .option("--confidence", options->confidence, "two-sided confidence level")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual(manual)
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli
