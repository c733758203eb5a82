// What a bench is built of, as its owner states it once: see boards/NAME/setup.hpp.
//
// Units: in the names; nm where a whole µm would be too coarse.
#pragma once

#include "bench/controller/core/event.hpp"

namespace dropledger {
namespace controller {

struct Setup {
    uint8_t channels = most_channels;
    const char* firmware = "";
    uint32_t nm_per_count = 100000;     // travel of one encoder count (four a line)
    uint32_t most_counts_s = 10000;     // that the board reads without skipping one
    uint32_t nm_per_drive_step = 50000; // travel of one step of the drive motor
    uint32_t most_drive_hz = 20000;     // steps a second that drive and driver can do
    uint16_t steps_per_seed = 64;       // of a metering motor, from one cell to the next
    uint32_t most_meter_hz = 4000;
    uint32_t ramp_us = 500000;      // from rest to the ordered speed, and back
    uint32_t valve_open_us = 60000; // at most; never longer than half the time to the next drop
    uint32_t lead_us[most_channels] = {}; // a valve opens this long before travel reaches the place
};

} // namespace controller
} // namespace dropledger
