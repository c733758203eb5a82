// The bench around this board: state here what yours is built of, then build and flash.
//
// Units: in the names. `lead_us`: what `dropledger calibrate lead` found for each channel.
#pragma once

#include "bench/controller/core/setup.hpp"

namespace dropledger {
namespace controller {
namespace atmega2560 {

#ifndef BENCH_BAUD
#define BENCH_BAUD 115200UL
#endif

inline Setup setup() {
    Setup bench;
    bench.channels = 8;
    bench.firmware = "dropledger-controller%201%20atmega2560";
    bench.nm_per_count = 100000;
    bench.most_counts_s = 8000;
    bench.nm_per_drive_step = 50000;
    bench.most_drive_hz = 20000;
    bench.steps_per_seed = 64;
    bench.most_meter_hz = 4000;
    for (uint32_t& lead_us : bench.lead_us)
        lead_us = 320000;
    return bench;
}

} // namespace atmega2560
} // namespace controller
} // namespace dropledger
