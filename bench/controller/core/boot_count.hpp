// A number that differs at every boot, kept in memory that survives the power: a ring of slots, so
// that a slot that was torn while it was written costs a number and never gives one twice.
//
// Assumes: an erased slot fails its check.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

constexpr uint8_t boot_slots = 16;

struct BootSlot {
    uint32_t number = 0;
    uint16_t check = 0;
};

[[nodiscard]] BootSlot boot_slot(uint32_t number);

struct NextBoot {
    uint32_t number = 1;
    uint8_t slot = 0; // where it is to be written
};
[[nodiscard]] NextBoot next_boot(const BootSlot* slots);

// `NUMBER-NOISE` in hexadecimal digits and a 0: 18 characters.
void write_boot(uint32_t number, uint32_t noise, char* text);

} // namespace controller
} // namespace dropledger
