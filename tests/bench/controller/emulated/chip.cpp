#include "chip.hpp"

#include <simavr/avr_eeprom.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_cycle_timers.h>
#include <simavr/sim_elf.h>
#include <simavr/sim_interrupts.h>
#include <simavr/sim_io.h>

#include <algorithm>
#include <cstdarg>
#include <cstdlib>
#include <list>
#include <map>
#include <stdexcept>

namespace dropledger::emulated {

namespace {

constexpr std::uint16_t tccr1b = 0x81; // the same on both chips
constexpr std::uint16_t pcicr = 0x68;
constexpr std::uint16_t pcmsk2 = 0x6D;
constexpr std::uint16_t pcifr = 0x3B;
constexpr std::uint8_t pcint2_vector = 11; // on the ATmega2560

// libsimavr's macros make an int of four letters.
std::uint32_t request(int letters) {
    return static_cast<std::uint32_t>(letters);
}

void be_quiet(avr_t*, const int level, const char* format, va_list words) {
    if (level <= LOG_ERROR)
        std::vfprintf(stderr, format, words);
}

} // namespace

struct Chip::Inside {
    struct Ear {
        std::function<void(bool)> hear;
        std::optional<bool> before{}; // libsimavr tells some levels twice
    };

    avr_t* avr = nullptr;
    avr_irq_t* receiver = nullptr;
    std::multimap<Cycle, std::function<void()>> acts;
    Cycle planned = 0; // when libsimavr will call
    std::list<Ear> ears;
    std::function<void(std::uint8_t)> on_byte;
    // libsimavr 1.6 raises no pin-change interrupt for port K of the ATmega2560: it is raised here.
    avr_int_vector_t port_k{};
    bool raises_port_k = false;
    std::uint8_t port_k_pins = 0;
    struct Hung {
        avr_flashaddr_t at;
        std::uint8_t bytes[2]; // that stood there
    };
    std::optional<Hung> hung;
    std::map<char, avr_ioport_external_t> driven; // by the outside, whatever pull-ups say
};

Chip::Chip(const std::string& elf, const std::string& mcu) : in_(std::make_unique<Inside>()) {
    avr_global_logger_set(be_quiet);
    elf_firmware_t firmware{};
    if (elf_read_firmware(elf.c_str(), &firmware) != 0)
        throw std::runtime_error("cannot read the firmware " + elf);
    in_->avr = avr_make_mcu_by_name(mcu.c_str());
    if (in_->avr == nullptr)
        throw std::runtime_error("libsimavr does not know the chip " + mcu);
    avr_t* const avr = in_->avr;
    avr_init(avr);
    firmware.frequency = 16000000;
    avr_load_firmware(avr, &firmware);
    avr->vcc = avr->avcc = avr->aref = 5000;
    avr->sleep = [](avr_t*, avr_cycle_count_t) {};
    std::uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~static_cast<std::uint32_t>(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    in_->receiver = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    const auto take = [](avr_irq_t*, std::uint32_t value, void* inside) {
        const auto& on_byte = static_cast<Inside*>(inside)->on_byte;
        if (on_byte)
            on_byte(static_cast<std::uint8_t>(value));
    };
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), take,
                            in_.get());
    in_->raises_port_k = mcu == "atmega2560";
    if (in_->raises_port_k) {
        in_->port_k.vector = pcint2_vector;
        in_->port_k.enable = {.reg = pcicr, .bit = 2, .mask = 1};
        in_->port_k.raised = {.reg = pcifr, .bit = 2, .mask = 1};
        avr_register_vector(avr, &in_->port_k);
    }
}

Chip::~Chip() {
    avr_terminate(in_->avr);
}

Cycle Chip::now() const {
    return in_->avr->cycle;
}

void Chip::run_until(Cycle cycle) {
    avr_t* const avr = in_->avr;
    while (avr->cycle < cycle) {
        const bool awake = avr->state == cpu_Running;
        const Cycle before = avr->cycle;
        const int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed)
            throw std::runtime_error("the firmware has crashed");
        if (in_->hung)
            end_hanging();
        if (awake)
            busy_ += avr->cycle - before;
        if (!clock_began_ && avr->data[tccr1b] != 0)
            clock_began_ = avr->cycle;
        const auto stack = static_cast<std::uint16_t>(avr->data[R_SPL] | avr->data[R_SPH] << 8);
        if (clock_began_ && stack < lowest_stack_)
            lowest_stack_ = stack;
    }
}

// `rjmp .` over the instruction that is next, until something else is carried out.
void Chip::hang() {
    avr_t* const avr = in_->avr;
    while (avr->state != cpu_Running)
        avr_run(avr);
    avr->sreg[S_I] = 0;
    in_->hung = {avr->pc, {avr->flash[avr->pc], avr->flash[avr->pc + 1]}};
    avr->flash[avr->pc] = 0xFF;
    avr->flash[avr->pc + 1] = 0xCF;
}

void Chip::end_hanging() {
    if (in_->avr->pc == in_->hung->at)
        return;
    std::copy_n(in_->hung->bytes, 2, in_->avr->flash + in_->hung->at);
    in_->hung.reset();
    begin_boot();
}

void Chip::reset() {
    avr_reset(in_->avr);
    begin_boot();
}

// A reset has taken all of libsimavr's timers away, ours too.
void Chip::begin_boot() {
    booted_ = in_->avr->cycle;
    clock_began_.reset();
    lowest_stack_ = 0xFFFF;
    busy_ = 0;
    if (!in_->acts.empty())
        plan();
}

void Chip::set(Pin pin, bool high) {
    avr_t* const avr = in_->avr;
    const auto bit = static_cast<std::uint8_t>(1U << pin.bit);
    avr_ioport_external_t& driven = in_->driven[pin.port];
    driven.name = static_cast<unsigned char>(pin.port) & 0x7FU;
    driven.mask = driven.mask | bit;
    driven.value = static_cast<std::uint8_t>(high ? driven.value | bit : driven.value & ~bit);
    avr_ioctl(avr, request(AVR_IOCTL_IOPORT_SET_EXTERNAL(pin.port)), &driven);
    const std::uint8_t port_k_before = in_->port_k_pins;
    if (pin.port == 'K')
        in_->port_k_pins =
            static_cast<std::uint8_t>(high ? port_k_before | bit : port_k_before & ~bit);
    // An interrupt pin that is low while it has no mode yet would be polled by libsimavr ever after.
    if (!clock_began_)
        return;
    avr_raise_irq(avr_io_getirq(avr, request(AVR_IOCTL_IOPORT_GETIRQ(pin.port)), pin.bit),
                  high ? 1 : 0);
    if (in_->raises_port_k && in_->port_k_pins != port_k_before && (avr->data[pcmsk2] & bit) != 0)
        avr_raise_interrupt(avr, &in_->port_k);
}

void Chip::on_change(Pin pin, std::function<void(bool)> hear) {
    in_->ears.push_back({std::move(hear), {}});
    const auto pass = [](avr_irq_t*, std::uint32_t value, void* ear) {
        Inside::Ear& its = *static_cast<Inside::Ear*>(ear);
        if (its.before != (value != 0))
            its.hear(*(its.before = value != 0));
    };
    avr_irq_register_notify(
        avr_io_getirq(in_->avr, request(AVR_IOCTL_IOPORT_GETIRQ(pin.port)), pin.bit), pass,
        &in_->ears.back());
}

bool Chip::is_high(Pin pin) const {
    avr_ioport_state_t state{};
    avr_ioctl(in_->avr, request(AVR_IOCTL_IOPORT_GETSTATE(pin.port)), &state);
    return (static_cast<unsigned>(state.port) >> pin.bit & 1U) != 0;
}

void Chip::at(Cycle cycle, std::function<void()> act) {
    in_->acts.emplace(cycle, std::move(act));
    if (in_->planned == 0 || cycle < in_->planned)
        plan();
}

void Chip::plan() {
    const auto call = [](avr_t* avr, avr_cycle_count_t, void* chip) -> avr_cycle_count_t {
        Chip& self = *static_cast<Chip*>(chip);
        auto& acts = self.in_->acts;
        self.in_->planned = 1; // no plan is made while acts are carried out
        while (!acts.empty() && acts.begin()->first <= avr->cycle) {
            const auto act = std::move(acts.begin()->second);
            acts.erase(acts.begin());
            act();
        }
        self.in_->planned = acts.empty() ? 0 : acts.begin()->first;
        return self.in_->planned;
    };
    avr_cycle_timer_cancel(in_->avr, call, this);
    in_->planned = in_->acts.begin()->first;
    avr_cycle_timer_register(in_->avr, in_->planned > now() ? in_->planned - now() : 1, call, this);
}

void Chip::send(std::uint8_t byte) {
    avr_raise_irq(in_->receiver, byte);
}

void Chip::on_byte(std::function<void(std::uint8_t)> hear) {
    in_->on_byte = std::move(hear);
}

Cycle Chip::cycles_per_byte(unsigned baud) const {
    return 10ULL * 16000000 / baud;
}

std::uint8_t Chip::memory(std::uint16_t address) const {
    return in_->avr->data[address];
}

void Chip::set_memory(std::uint16_t address, std::uint8_t value) {
    in_->avr->data[address] = value;
}

void Chip::set_eeprom(std::uint16_t address, std::string bytes) {
    avr_eeprom_desc_t what{.ee = reinterpret_cast<std::uint8_t*>(bytes.data()),
                           .offset = address,
                           .size = static_cast<std::uint32_t>(bytes.size())};
    avr_ioctl(in_->avr, AVR_IOCTL_EEPROM_SET, &what);
}

std::uint16_t Chip::memory_end() const {
    return static_cast<std::uint16_t>(in_->avr->ramend);
}

double Chip::busy_share() const {
    return static_cast<double>(busy_) / static_cast<double>(now() - booted_);
}

} // namespace dropledger::emulated
