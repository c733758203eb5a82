// What the board's outputs are to be, and what it has made of them.
#pragma once

#include "bench/controller/core/travel.hpp"

namespace dropledger {
namespace controller {

struct Outputs {
    uint8_t valves = 0;    // a bit a channel: open
    uint8_t meters = 0;    // a bit a channel: its metering motor is on
    bool drive = false;    // the drive motor's driver is on
    uint16_t drive_hz = 0; // its steps a second
    uint16_t meter_hz = 0; // steps a second of every metering motor that is on
};

struct Inputs {
    bool estop = false; // pressed now, or since it was last asked
    bool guard = false; // open now, or since it was last asked
    bool encoder_skipped = false;
    Counts counts;
    uint32_t meter_steps = 0; // made since boot
};

} // namespace controller
} // namespace dropledger
