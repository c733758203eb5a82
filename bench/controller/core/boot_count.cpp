#include "bench/controller/core/boot_count.hpp"

#include "bench/controller/core/line_text.hpp"

namespace dropledger {
namespace controller {

namespace {

char* write_hex(uint32_t value, char* text) {
    for (int8_t shift = 28; shift >= 0; shift = static_cast<int8_t>(shift - 4))
        *text++ = "0123456789ABCDEF"[(value >> shift) & 0xFU];
    return text;
}

} // namespace

BootSlot boot_slot(uint32_t number) {
    uint16_t check = crc_start;
    for (uint8_t shift = 0; shift < 32; shift = static_cast<uint8_t>(shift + 8))
        check = crc_with(check, static_cast<uint8_t>((number >> shift) & 0xFFU));
    BootSlot slot;
    slot.number = number;
    slot.check = check;
    return slot;
}

NextBoot next_boot(const BootSlot* slots) {
    NextBoot next;
    for (uint8_t i = 0; i < boot_slots; ++i) {
        const bool holds = boot_slot(slots[i].number).check == slots[i].check;
        if (!holds || slots[i].number < next.number)
            continue;
        next.number = slots[i].number + 1;
        next.slot = static_cast<uint8_t>((i + 1) % boot_slots);
    }
    return next;
}

void write_boot(uint32_t number, uint32_t noise, char* text) {
    text = write_hex(number, text);
    *text++ = '-';
    *write_hex(noise, text) = '\0';
}

} // namespace controller
} // namespace dropledger
