// How fast seed of a crop falls at last, through still air: from the crop's facts.
//
// Units: m/s; u is a standard uncertainty: a range taken as rectangular (JCGM 100, 4.3.7).
// Undefined when: never; of a crop without a fact the range is that of all seed we know of, and
// `known` is false.
#pragma once

#include "calibration/flight/flight.hpp"

#include <string>

namespace dropledger::calibration {

struct TerminalSpeed {
    Input mps;
    double low_mps = 0.0;
    double high_mps = 0.0;
    bool known = false; // of this crop
    std::string source;
};

// By the crop's name, or the name of its file.
[[nodiscard]] TerminalSpeed terminal_speed(const std::string& crop);

} // namespace dropledger::calibration
