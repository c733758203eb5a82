// `dropledger calibrate`: what a gate overlooks, how long a seed falls, what lag a valve has, how
// well a bench repeats.
#pragma once

#include "bench/commands/shell/command.hpp"

namespace dropledger::cli {

void declare_calibrate(Command command);

// The ways, one file each.
void add_calibrate_efficiency(Command& calibrate);
void add_calibrate_gauge(Command& calibrate);
void add_calibrate_lead(Command& calibrate);
void add_calibrate_flight(Command& calibrate);
void add_calibrate_classifier(Command& calibrate);

} // namespace dropledger::cli
