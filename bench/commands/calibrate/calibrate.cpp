#include "bench/commands/calibrate/calibrate.hpp"

namespace dropledger::cli {

void declare_calibrate(Command command) {
    add_calibrate_efficiency(command);
    add_calibrate_gauge(command);
    add_calibrate_lead(command);
    add_calibrate_flight(command);
    add_calibrate_classifier(command);
}

} // namespace dropledger::cli
