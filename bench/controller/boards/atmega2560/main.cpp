// The controller on an ATmega2560 at 16 MHz.
//
// Timer 1 counts half microseconds and is the clock. An edge of a gate or of the encoder is stamped
// in its interrupt, with all gates at once; every other interrupt lets it in or is short. Timer 0
// wakes the main loop every 500 µs, timers 3 and 5 make steps.
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
// From an edge to its stamp: the middle of what is measured.
constexpr uint8_t half_us_after_edge = 2;
constexpr uint16_t wake_after = 125 - 1; // timer 0 at 4 µs: 500 µs

// What an edge of any gate or of the encoder leaves behind: a picture of all of them.
struct Picture {
    uint16_t half_us;
    uint8_t gates0;
    uint8_t gates1;
    uint8_t encoder;
    uint8_t overflow;
    uint8_t flags; // of timer 1: an overflow that was not counted yet
    uint8_t spare;
};
static_assert(sizeof(Picture) == 8, "the interrupt's assembler counts on it");

struct Encoder {
    Counts counts;
    uint8_t waves = 0;
    bool skipped = false; // since it was last told

    void take(uint8_t now, uint32_t at_us) {
        const int8_t step = quadrature_step(waves, now);
        waves = now;
        skipped = skipped || step == dropledger::controller::skipped;
        if (step == 0 || step == dropledger::controller::skipped)
            return;
        counts.count += step;
        counts.at_us = at_us;
    }
};

Encoder encoder;
Ring<uint8_t, 128> heard;
Ring<uint8_t, 64> to_say;
volatile bool estop_seen;
volatile bool guard_seen;
volatile bool woken;
volatile uint32_t meter_edges; // two a step

uint8_t event_room[event_bytes];

} // namespace

extern "C" {
extern volatile uint32_t overflows;
}

namespace {

// 17 bits of overflows and 15 of the counter's 16.
uint32_t us_of(uint16_t half_us, uint32_t overflow) {
    const uint32_t us =
        ((static_cast<uint32_t>(static_cast<uint16_t>(overflow)) << 16) | half_us) >> 1;
    return (overflow & 0x10000UL) != 0 ? us | 0x80000000UL : us;
}

uint32_t now_us() {
    cli();
    const uint16_t half_us = TCNT1;
    uint32_t overflow = overflows;
    if ((TIFR1 & _BV(TOV1)) != 0 && half_us < 0x8000)
        ++overflow;
    sei();
    return us_of(half_us, overflow);
}

// A picture is at most a few seconds old.
uint32_t us_of(const volatile Picture& picture) {
    cli();
    const uint32_t now = overflows;
    sei();
    const uint16_t half_us = picture.half_us;
    auto overflow = picture.overflow;
    if ((picture.flags & _BV(TOV1)) != 0 && half_us < 0x8000)
        ++overflow;
    return us_of(half_us, now + static_cast<int8_t>(overflow - static_cast<uint8_t>(now)));
}

} // namespace

// Offsets in the ring, in bytes: a page of memory, so that they wrap by themselves.
extern "C" {
volatile Picture pictures[32] __attribute__((aligned(256), used));
volatile uint8_t picture_head __attribute__((used));
volatile uint8_t picture_tail __attribute__((used));
volatile uint8_t pictures_lost __attribute__((used));
volatile uint32_t overflows __attribute__((used)); // of timer 1, one in 32,768 µs
}

// In assembler, because an edge that comes during it waits for its end: 70 cycles.
ISR(PCINT0_vect, ISR_NAKED) {
    asm volatile(
        "push r24\n in r24, __SREG__\n push r24\n push r30\n push r31\n"
        "lds r30, picture_head\n ldi r31, hi8(pictures)\n"
        "lds r24, %[low]\n st Z, r24\n"
        "in r24, %[pinb]\n std Z+2, r24\n"
        "lds r24, %[pink]\n std Z+3, r24\n"
        "in r24, %[pine]\n std Z+4, r24\n"
        "lds r24, %[high]\n std Z+1, r24\n"
        "in r24, %[tifr]\n std Z+6, r24\n"
        "lds r24, overflows\n std Z+5, r24\n"
        "subi r30, -8\n lds r24, picture_tail\n"
        "cp r24, r30\n breq 1f\n"
        "sts picture_head, r30\n rjmp 2f\n"
        "1: ldi r24, 1\n sts pictures_lost, r24\n"
        "2: pop r31\n pop r30\n pop r24\n out __SREG__, r24\n pop r24\n reti\n" ::[low] "n"(
            _SFR_MEM_ADDR(TCNT1L)),
        [high] "n"(_SFR_MEM_ADDR(TCNT1H)), [pinb] "I"(_SFR_IO_ADDR(PINB)),
        [pink] "n"(_SFR_MEM_ADDR(PINK)), [pine] "I"(_SFR_IO_ADDR(PINE)),
        [tifr] "I"(_SFR_IO_ADDR(TIFR1)));
}
ISR(PCINT2_vect, ISR_ALIASOF(PCINT0_vect));
ISR(INT4_vect, ISR_ALIASOF(PCINT0_vect));
ISR(INT5_vect, ISR_ALIASOF(PCINT0_vect));

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

ISR(TIMER3_COMPA_vect, ISR_NOBLOCK) {
    meter_edges = meter_edges + 1;
}

ISR(USART0_RX_vect) {
    const uint8_t byte = UDR0;
    if (heard.is_full())
        return; // the line fails its check and is asked for again
    heard.free_place() = byte;
    heard.put();
}

// Off while it works, so that it can let gate edges in.
ISR(USART0_UDRE_vect) {
    UCSR0B &= static_cast<uint8_t>(~_BV(UDRIE0));
    sei();
    UDR0 = to_say.oldest();
    to_say.drop();
    if (to_say.is_empty())
        return;
    cli();
    UCSR0B |= _BV(UDRIE0);
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
    EIMSK = _BV(INT0) | _BV(INT1) | _BV(INT4) | _BV(INT5);
    PCMSK0 = PCMSK2 = 0xFF;
    PCICR = _BV(PCIE0) | _BV(PCIE2);
    UCSR0A = USE_2X != 0 ? _BV(U2X0) : 0;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UBRR0 = UBRR_VALUE;
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
}

// Timers 3 and 5: the whole clock for fast steps, so that their rate is true to 0.1 %, else an
// eighth of it.
constexpr uint16_t fast_hz = 200;

uint8_t timer_clock(uint16_t hz) {
    return hz >= fast_hz ? _BV(CS50) : _BV(CS51); // the same bits for timer 3
}

// Two a step.
uint16_t half_period(uint16_t hz) {
    const uint32_t clock_hz = hz >= fast_hz ? F_CPU : F_CPU / 8;
    const uint32_t counts = (clock_hz / 2 + hz / 2) / hz;
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
    TCCR5B = static_cast<uint8_t>(_BV(WGM52) | timer_clock(hz));
    OCR5A = half_period(hz);
    if (TCNT5 > OCR5A)
        TCNT5 = 0;
    TCCR5A = _BV(COM5A0); // last: with an old period it would step wildly
}

void set_meter_steps(uint16_t hz) {
    static uint16_t before;
    if (hz == before && (TCCR3A != 0) == (hz != 0))
        return;
    before = hz;
    if (hz == 0) {
        TIMSK3 = 0;
        TCCR3A = 0;
        return;
    }
    TCCR3B = static_cast<uint8_t>(_BV(WGM32) | timer_clock(hz));
    OCR3A = half_period(hz);
    if (TCNT3 > OCR3A)
        TCNT3 = 0;
    TCCR3A = _BV(COM3A0);
    TIFR3 = _BV(OCF3A);
    TIMSK3 = _BV(OCIE3A);
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
        if (((PORTL & drive_pin) != 0) != outputs.drive) // libsimavr: a write moves the step pin
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
    inputs.meter_steps = meter_edges >> 1;
    sei();
    inputs.counts = encoder.counts;
    inputs.encoder_skipped = encoder.skipped;
    encoder.skipped = false;
    return inputs;
}

// Where no edge tells: at boot, and after some were lost.
void see_gates(Controller& controller) {
    controller.see({now_us(), static_cast<uint16_t>(PINB | (PINK << 8))});
}

void take_pictures(Controller& controller) {
    while (picture_tail != picture_head) {
        const volatile Picture& picture = pictures[picture_tail / sizeof(Picture)];
        const uint32_t at_us = us_of(picture) - half_us_after_edge / 2;
        const uint8_t waves = (picture.encoder >> encoder_a) & 3U;
        const auto dark = static_cast<uint16_t>(picture.gates0 | (picture.gates1 << 8));
        picture_tail = static_cast<uint8_t>(picture_tail + sizeof(Picture));
        encoder.take(waves, at_us);
        controller.see({at_us, dark});
    }
    if (pictures_lost == 0)
        return;
    pictures_lost = 0;
    encoder.skipped = true;
    encoder.waves = encoder_waves();
    controller.lose_edges(now_us());
    see_gates(controller);
}

void hear(Controller& controller) {
    for (; !heard.is_empty(); heard.drop())
        controller.hear(static_cast<char>(heard.oldest()), now_us());
}

// Puts what fits into the ring; true where more could be said at once.
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
    if (!woken && heard.is_empty() && picture_tail == picture_head) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
    }
    sei();
}

} // namespace

int main() {
    static Setup bench = setup();
    static char name[name_room];
    char boot[boot_room];
    set_up();
    name_controller(bench.firmware, name);
    bench.firmware = name;
    encoder.waves = encoder_waves();
    name_boot(boot);
    wdt_enable(WDTO_500MS);
    set_sleep_mode(SLEEP_MODE_IDLE);
    sei();
    static Controller controller(bench, {event_room, event_bytes}, boot, now_us());
    see_gates(controller);
    for (;;) {
        wdt_reset();
        hear(controller);
        take_pictures(controller);
        if (woken) {
            woken = false;
            const Inputs inputs = read_inputs();
            controller.step(inputs, now_us());
            apply(controller.outputs());
            const uint32_t applied_us = now_us();
            take_pictures(controller); // their ring holds 3 ms at the encoder's greatest speed
            controller.tell(applied_us);
            take_pictures(controller);
        }
        if (!speak(controller))
            sleep_until_something();
    }
}
