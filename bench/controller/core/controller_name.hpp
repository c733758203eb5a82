// FIRMWARE of `hello`: the program, and behind `#` the serial of the single controller, so that two
// of one program can be told apart.
//
// Assumes: a serial is letters, digits, `-` and `.`; anything else ends it, erased memory too.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

constexpr uint8_t serial_room = 12;
constexpr uint8_t name_room = 56;

// `PROGRAM%20#SERIAL` and a 0; PROGRAM alone where no serial was set. What finds no room is left out.
void write_name(const char* program, const uint8_t (&serial)[serial_room], char (&text)[name_room]);

} // namespace controller
} // namespace dropledger
