#include "bench/controller/boards/avr/boot.hpp"

#include "bench/controller/core/boot_count.hpp"

#include <avr/eeprom.h>
#include <avr/io.h>
#include <avr/wdt.h>

namespace {

uint32_t ram_noise __attribute__((section(".noinit")));

// The serial stands first, at address 0, where whoever flashes the board writes it. Every member has
// a constant value: a constructor would run on the same addresses of the RAM.
struct Kept {
    uint8_t serial[dropledger::controller::serial_room] = {};
    dropledger::controller::BootSlot slots[dropledger::controller::boot_slots];
};
Kept kept_in_eeprom EEMEM;

} // namespace

// After a watchdog reset the watchdog is still on, with its shortest time.
extern "C" void before_memory_is_set() __attribute__((naked, used, section(".init3")));
void before_memory_is_set() {
    MCUSR = 0;
    wdt_disable();
    uint32_t noise = 0;
    for (const uint8_t* byte = reinterpret_cast<const uint8_t*>(RAMSTART);
         byte <= reinterpret_cast<const uint8_t*>(RAMEND); ++byte)
        noise = ((noise << 8) | (noise >> 24)) ^ *byte;
    ram_noise = noise;
}

namespace dropledger {
namespace controller {

void name_boot(char* text) {
    BootSlot slots[boot_slots];
    eeprom_read_block(slots, kept_in_eeprom.slots, sizeof slots);
    const NextBoot next = next_boot(slots);
    const BootSlot slot = boot_slot(next.number);
    eeprom_update_block(&slot, &kept_in_eeprom.slots[next.slot], sizeof slot);
    write_boot(next.number, ram_noise, text);
}

void name_controller(const char* program, char (&text)[name_room]) {
    uint8_t serial[serial_room];
    eeprom_read_block(serial, kept_in_eeprom.serial, sizeof serial);
    write_name(program, serial, text);
}

} // namespace controller
} // namespace dropledger
