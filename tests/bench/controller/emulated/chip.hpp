// An AVR that runs the real firmware cycle by cycle, with a hand on its pins and its serial line.
//
// Units: cycles of the chip's clock, 16 of them a µs.
// Assumes: built with libsimavr, which is GPL: in test programs only.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

namespace dropledger::emulated {

using Cycle = std::uint64_t;
constexpr Cycle cycles_per_us = 16;

struct Pin {
    char port = 'A';
    std::uint8_t bit = 0;
};

class Chip {
public:
    // Throws std::runtime_error where the .elf cannot be read or the chip is not known.
    Chip(const std::string& elf, const std::string& mcu);
    ~Chip();
    Chip(const Chip&) = delete;
    Chip& operator=(const Chip&) = delete;

    [[nodiscard]] Cycle now() const;
    void run_until(Cycle cycle); // and as many more as the last instruction takes
    void hang();                 // goes round in one place, interrupts off, as after a bug
    void reset();                // as by the reset pin: EEPROM stays
    [[nodiscard]] Cycle booted() const { return booted_; }
    // When the clock (timer 1) was started in this boot; nothing before.
    [[nodiscard]] std::optional<Cycle> clock_began() const { return clock_began_; }

    void set(Pin pin, bool high); // before the clock runs: what the pin will be found at
    void on_change(Pin pin, std::function<void(bool high)> hear);
    [[nodiscard]] bool is_high(Pin pin) const; // what the port's output register says
    // `act` is called once, at the end of the instruction that is under way at its cycle.
    void at(Cycle cycle, std::function<void()> act);

    void send(std::uint8_t byte); // to the chip's receiver
    void on_byte(std::function<void(std::uint8_t)> hear);
    [[nodiscard]] Cycle cycles_per_byte(unsigned baud) const;

    void set_eeprom(std::uint16_t address, std::string bytes);
    [[nodiscard]] std::uint8_t memory(std::uint16_t address) const;
    void set_memory(std::uint16_t address, std::uint8_t value);
    [[nodiscard]] std::uint16_t memory_end() const; // of the RAM
    // The lowest address that the stack pointer has had since boot.
    [[nodiscard]] std::uint16_t lowest_stack() const { return lowest_stack_; }
    [[nodiscard]] double busy_share() const; // of the cycles since boot, not asleep

private:
    struct Inside;
    void plan();
    void end_hanging();
    void begin_boot();

    std::unique_ptr<Inside> in_;
    Cycle booted_ = 0;
    std::optional<Cycle> clock_began_;
    std::uint16_t lowest_stack_ = 0xFFFF;
    Cycle busy_ = 0;
};

} // namespace dropledger::emulated
