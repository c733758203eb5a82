#include "bench/commands/calibrate/calibrate.hpp"

namespace dropledger::cli {

void add_calibrate(Program& program) {
    Command command =
        program.subcommand("calibrate", "know the sensor and the unit before judging either");
    add_calibrate_efficiency(command);
    add_calibrate_gauge(command);
    add_calibrate_lead(command);
    add_calibrate_flight(command);
    add_calibrate_classifier(command);
}

} // namespace dropledger::cli
