#include "bench/controller/core/boot_count.hpp"

#include <gtest/gtest.h>

#include <array>
#include <set>
#include <string>

namespace dropledger::controller {
namespace {

using Slots = std::array<BootSlot, boot_slots>;

Slots erased() {
    Slots slots;
    slots.fill({.number = 0xFFFFFFFF, .check = 0xFFFF});
    return slots;
}

std::uint32_t boot(Slots& slots) {
    const NextBoot next = next_boot(slots.data());
    slots.at(next.slot) = boot_slot(next.number);
    return next.number;
}

TEST(ControllerBoot, CountsFromErasedMemoryAndUsesEverySlotInTurn) {
    Slots slots = erased();
    for (std::uint32_t expected = 1; expected <= 100; ++expected)
        EXPECT_EQ(boot(slots), expected);
    std::set<std::uint32_t> numbers;
    for (const BootSlot& slot : slots)
        numbers.insert(slot.number);
    EXPECT_EQ(numbers.size(), std::size_t{boot_slots});
}

// The power goes in the middle of writing: any byte of the slot may be old, new or neither.
TEST(ControllerBoot, NeverGivesANumberTwiceThoughASlotIsTorn) {
    for (std::uint32_t torn = 0; torn < 4000; ++torn) {
        Slots slots = erased();
        std::set<std::uint32_t> given;
        for (int i = 0; i < 20; ++i)
            given.insert(boot(slots));
        const NextBoot next = next_boot(slots.data());
        slots.at(next.slot) = {.number = next.number ^ (torn * 2654435761U),
                               .check = boot_slot(next.number).check};
        if (torn == 0)
            given.insert(next.number);
        EXPECT_FALSE(given.contains(boot(slots))) << torn;
    }
}

TEST(ControllerBoot, IsWrittenInHexadecimalDigits) {
    char text[18];
    write_boot(0x1A2B, 0xDEADBEEF, text);
    EXPECT_EQ(std::string(text), "00001A2B-DEADBEEF");
}

} // namespace
} // namespace dropledger::controller
