// What every AVR board does before anything else: watchdog off, memory's noise taken, boot counted,
// its own name read.
#pragma once

#include "bench/controller/core/controller_name.hpp"

#include <stdint.h>

namespace dropledger {
namespace controller {

// BOOT of this start: counted in EEPROM, and marked by what the RAM held at power-up, which differs
// from one chip to the next.
void name_boot(char* text);

// FIRMWARE with the serial that stands at address 0 of the EEPROM, if one does.
void name_controller(const char* program, char (&text)[name_room]);

} // namespace controller
} // namespace dropledger
