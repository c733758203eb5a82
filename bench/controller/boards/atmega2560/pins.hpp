// Which pin is what on an ATmega2560, and everything that is switched.
//
//   PB0…PB7  gate 0 of channels 0…7      PK0…PK7  gate 1 of channels 0…7
//   PA0…PA7  valves 0…7                  PC0…PC7  metering motors 0…7, driver on
//   PL0      drive motor, driver on      PL3 OC5A drive steps      PE3 OC3A metering steps
//   PE4 INT4 encoder A                   PE5 INT5 encoder B
//   PD0 INT0 emergency stop              PD1 INT1 guard
//   PE0, PE1 serial line
//
// Inputs have their pull-up on and are high when the beam is dark, the stop pressed, the guard
// open, and when a wire is broken. Outputs are high when on; a resistor to ground keeps each off
// while the chip is in reset or being flashed.
#pragma once

#include <avr/io.h>
#include <stdint.h>

namespace dropledger {
namespace controller {
namespace atmega2560 {

constexpr uint8_t estop_pin = _BV(PD0);
constexpr uint8_t guard_pin = _BV(PD1);
constexpr uint8_t encoder_a = PE4; // B is the next one
constexpr uint8_t drive_pin = _BV(PL0);
constexpr uint8_t drive_step_pin = _BV(PL3);
constexpr uint8_t meter_step_pin = _BV(PE3);

inline bool estop_pressed() {
    return (PIND & estop_pin) != 0;
}

inline bool guard_open() {
    return (PIND & guard_pin) != 0;
}

inline uint8_t encoder_waves() {
    return (PINE >> encoder_a) & 3U;
}

// Nothing turns and nothing is open. Called with interrupts off.
inline void all_off() {
    PORTA = 0;
    PORTC = 0;
    PORTL = 0;
    TCCR5A = 0; // the step pins leave their timers
    TCCR3A = 0;
}

inline void set_up_pins() {
    DDRA = DDRC = 0xFF;
    DDRL = drive_pin | drive_step_pin;
    DDRE = meter_step_pin;
    PORTB = PORTK = 0xFF;
    PORTD = estop_pin | guard_pin;
    PORTE = _BV(PE0) | _BV(PE4) | _BV(PE5);
}

} // namespace atmega2560
} // namespace controller
} // namespace dropledger
