// The controller on an ATmega2560 at 16 MHz.
//
// Timer 1 counts half microseconds and is the clock. Gate edges are stamped in their interrupt,
// both ports at once; every other interrupt lets them in or is shorter than 4 µs. Timer 0 wakes the
// main loop every 500 µs, timers 4 and 5 make steps.
#include "bench/controller/boards/atmega2560/pins.hpp"
#include "bench/controller/boards/atmega2560/setup.hpp"
#include "bench/controller/boards/avr/boot.hpp"
#include "bench/controller/boards/avr/rings.hpp"
#include "bench/controller/core/controller.hpp"
#include "bench/controller/core/quadrature.hpp"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#define BAUD BENCH_BAUD
#define BAUD_TOL 3
#include <util/setbaud.h>

using namespace dropledger::controller;
using namespace dropledger::controller::atmega2560;

namespace {

constexpr uint16_t event_bytes = 5600;
constexpr uint8_t half_us_after_edge = 3; // from an edge to the counter being read, see README
constexpr uint16_t wake_after = 125 - 1;  // timer 0 at 4 µs: 500 µs
constexpr uint32_t timer_hz = 2000000;    // timers 4 and 5, which need two counts a step

struct Stamp {
    uint16_t half_us;
    uint8_t overflow;
};
struct Sample {
    Stamp at;
    uint8_t gates0;
    uint8_t gates1;
};

Ring<Sample, 64> samples;
Ring<uint8_t, 128> heard;
Ring<uint8_t, 64> to_say;
volatile uint32_t overflows; // of timer 1, one in 32,768 µs
volatile bool samples_lost;
volatile bool estop_seen;
volatile bool guard_seen;
volatile bool skipped_seen;
volatile bool woken;
volatile int32_t count;
volatile Stamp counted_at;
volatile uint8_t waves;
volatile uint32_t meter_edges; // two a step

uint8_t event_room[event_bytes];

// Interrupts must be off. An overflow that nobody has counted yet shows in its flag.
inline void read_stamp(volatile Stamp& stamp) {
    const uint16_t half_us = TCNT1;
    uint8_t overflow = static_cast<uint8_t>(overflows);
    if ((TIFR1 & _BV(TOV1)) != 0 && half_us < 0x8000)
        ++overflow;
    stamp.half_us = half_us;
    stamp.overflow = overflow;
}

uint32_t now_us() {
    cli();
    const uint16_t half_us = TCNT1;
    uint32_t overflow = overflows;
    if ((TIFR1 & _BV(TOV1)) != 0 && half_us < 0x8000)
        ++overflow;
    sei();
    return (overflow << 15) | (half_us >> 1);
}

// A stamp is at most a few seconds old.
uint32_t us_of(uint16_t half_us, uint8_t overflow, uint32_t now) {
    const uint32_t turns = now >> 15;
    const uint32_t turn = turns - static_cast<uint8_t>(static_cast<uint8_t>(turns) - overflow);
    return (turn << 15) | (half_us >> 1);
}

} // namespace

ISR(PCINT0_vect) {
    if (samples.is_full()) {
        samples_lost = true;
        return;
    }
    volatile Sample& place = samples.free_place();
    read_stamp(place.at);
    place.gates0 = PINB;
    place.gates1 = PINK;
    samples.put();
}
ISR(PCINT2_vect, ISR_ALIASOF(PCINT0_vect));

// Gate edges may come in between, the encoder's own may not.
ISR(INT4_vect) {
    EIMSK &= static_cast<uint8_t>(~_BV(INT4));
    EIMSK &= static_cast<uint8_t>(~_BV(INT5));
    sei();
    const uint8_t now = encoder_waves();
    const int8_t step = quadrature_step(waves, now);
    waves = now;
    if (step == skipped)
        skipped_seen = true;
    else
        count += step;
    cli();
    read_stamp(counted_at);
    EIMSK |= _BV(INT4);
    EIMSK |= _BV(INT5);
}
ISR(INT5_vect, ISR_ALIASOF(INT4_vect));

ISR(INT0_vect) {
    if (!estop_pressed())
        return;
    all_off();
    estop_seen = true;
}

ISR(INT1_vect) {
    if (!guard_open())
        return;
    all_off();
    guard_seen = true;
}

ISR(TIMER1_OVF_vect) {
    overflows = overflows + 1;
}

ISR(TIMER0_COMPA_vect) {
    woken = true;
}

ISR(TIMER4_COMPA_vect, ISR_NOBLOCK) {
    meter_edges = meter_edges + 1;
}

ISR(USART0_RX_vect) {
    const uint8_t byte = UDR0;
    if (heard.is_full())
        return; // the line fails its check and is asked for again
    heard.free_place() = byte;
    heard.put();
}

ISR(USART0_UDRE_vect) {
    UDR0 = to_say.oldest();
    to_say.drop();
    if (to_say.is_empty())
        UCSR0B &= static_cast<uint8_t>(~_BV(UDRIE0));
}

namespace {

void set_up() {
    EICRA = _BV(ISC00) | _BV(ISC10); // any edge, before a pin can be low
    EICRB = _BV(ISC40) | _BV(ISC50);
    set_up_pins();
    TCCR1B = _BV(CS11);
    TIMSK1 = _BV(TOIE1);
    TCCR0A = _BV(WGM01);
    TCCR0B = _BV(CS01) | _BV(CS00);
    OCR0A = wake_after;
    TIMSK0 = _BV(OCIE0A);
    TCCR4B = _BV(WGM42) | _BV(CS41);
    TCCR5B = _BV(WGM52) | _BV(CS51);
    EIMSK = _BV(INT0) | _BV(INT1) | _BV(INT4) | _BV(INT5);
    PCMSK0 = PCMSK2 = 0xFF;
    PCICR = _BV(PCIE0) | _BV(PCIE2);
    UCSR0A = USE_2X != 0 ? _BV(U2X0) : 0;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UBRR0 = UBRR_VALUE;
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    waves = encoder_waves();
}

uint16_t half_period(uint16_t hz) {
    const uint32_t counts = timer_hz / 2 / hz;
    return static_cast<uint16_t>((counts < 0x10000 ? counts : 0x10000) - 1);
}

void set_drive_steps(uint16_t hz) {
    static uint16_t before;
    if (hz == before && (TCCR5A != 0) == (hz != 0))
        return;
    before = hz;
    if (hz == 0) {
        TCCR5A = 0;
        return;
    }
    OCR5A = half_period(hz);
    if (TCNT5 > OCR5A)
        TCNT5 = 0;
    TCCR5A = _BV(COM5A0); // last: with an old period it would step wildly
}

void set_meter_steps(uint16_t hz) {
    static uint16_t before;
    if (hz == before && (TCCR4A != 0) == (hz != 0))
        return;
    before = hz;
    if (hz == 0) {
        TIMSK4 = 0;
        TCCR4A = 0;
        return;
    }
    OCR4A = half_period(hz);
    if (TCNT4 > OCR4A)
        TCNT4 = 0;
    TCCR4A = _BV(COM4A0);
    TIFR4 = _BV(OCF4A);
    TIMSK4 = _BV(OCIE4A);
}

// Nothing is switched on while a stop is pressed or was not told yet.
void apply(const Outputs& outputs) {
    set_drive_steps(outputs.drive ? outputs.drive_hz : 0);
    set_meter_steps(outputs.meters != 0 ? outputs.meter_hz : 0);
    cli();
    if (estop_seen || guard_seen || estop_pressed() || guard_open()) {
        all_off();
    } else {
        PORTA = outputs.valves;
        PORTC = outputs.meters;
        PORTL = outputs.drive ? drive_pin : 0;
    }
    sei();
}

Inputs read_inputs() {
    Inputs inputs;
    cli();
    inputs.estop = estop_seen || estop_pressed();
    inputs.guard = guard_seen || guard_open();
    estop_seen = guard_seen = false;
    sei();
    cli();
    inputs.encoder_skipped = skipped_seen;
    skipped_seen = false;
    inputs.counts.count = count;
    const uint16_t half_us = counted_at.half_us;
    const uint8_t overflow = counted_at.overflow;
    sei();
    cli();
    inputs.meter_steps = meter_edges >> 1;
    sei();
    inputs.counts.at_us = us_of(half_us, overflow, now_us());
    return inputs;
}

void take_samples(Controller& controller) {
    for (; !samples.is_empty(); samples.drop()) {
        const volatile Sample& sample = samples.oldest();
        Beams beams;
        beams.at_us = us_of(sample.at.half_us, sample.at.overflow, now_us());
        beams.dark = static_cast<uint16_t>(sample.gates0 | (sample.gates1 << 8));
        controller.see(beams);
    }
    if (!samples_lost)
        return;
    samples_lost = false;
    controller.lose_edges(now_us());
}

void hear(Controller& controller) {
    for (; !heard.is_empty(); heard.drop())
        controller.hear(static_cast<char>(heard.oldest()), now_us());
}

// Puts what fits into the ring; true where the line is not all in it.
bool speak(Controller& controller) {
    static LineText line;
    static uint8_t said = 0;
    if (said == line.size() && (!controller.has_line() || to_say.is_full()))
        return false;
    if (said == line.size()) {
        if (!controller.next_line(line))
            return false;
        said = 0;
    }
    for (; said < line.size() && !to_say.is_full(); ++said) {
        to_say.free_place() = static_cast<uint8_t>(line.bytes()[said]);
        to_say.put();
    }
    cli();
    UCSR0B |= _BV(UDRIE0);
    sei();
    return !to_say.is_full();
}

void sleep_until_something() {
    cli();
    if (!woken && heard.is_empty() && samples.is_empty()) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
    }
    sei();
}

} // namespace

int main() {
    static const Setup bench = setup();
    char boot[boot_room];
    set_up();
    name_boot(boot);
    wdt_enable(WDTO_500MS);
    set_sleep_mode(SLEEP_MODE_IDLE);
    sei();
    static Controller controller(bench, {event_room, event_bytes}, boot, now_us());
    for (;;) {
        wdt_reset();
        hear(controller);
        take_samples(controller);
        if (woken) {
            woken = false;
            const Inputs inputs = read_inputs();
            controller.step(inputs, now_us());
            apply(controller.outputs());
        }
        if (!speak(controller))
            sleep_until_something();
    }
}
