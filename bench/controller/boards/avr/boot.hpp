// What every AVR board does before anything else: watchdog off, memory's noise taken, boot counted.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

// BOOT of this start: counted in EEPROM, and marked by what the RAM held at power-up, which differs
// from one chip to the next.
void name_boot(char* text);

} // namespace controller
} // namespace dropledger
