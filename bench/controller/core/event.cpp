#include "bench/controller/core/event.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint8_t low_nibble = 0x0F;
constexpr uint8_t kind_shift = 4;
constexpr uint8_t gate_bit = 8;
constexpr uint8_t tick_bytes = 4;
constexpr uint8_t position_bytes = 6;

// Bytes behind the first and the tick, for each Kind in its order.
constexpr uint8_t detail_bytes[] = {
    0, position_bytes, 4 + position_bytes + 1, 2, 2 + 4, 1, 0, 0, 1, 1, 0};

// Lowest byte first. An MCU of 8 bits shifts 64 of them slowly, so a position is put in two parts.
class Bytes {
public:
    explicit Bytes(uint8_t* at) : at_(at) {}
    void put1(uint8_t value) { *at_++ = value; }
    void put2(uint16_t value) {
        put1(static_cast<uint8_t>(value & 0xFFU));
        put1(static_cast<uint8_t>(value >> 8));
    }
    void put4(uint32_t value) {
        put2(static_cast<uint16_t>(value & 0xFFFFU));
        put2(static_cast<uint16_t>(value >> 16));
    }
    void position(int64_t value) {
        const auto bits = static_cast<uint64_t>(value);
        put4(static_cast<uint32_t>(bits & 0xFFFFFFFFU));
        put2(static_cast<uint16_t>((bits >> 32) & 0xFFFFU));
    }

private:
    uint8_t* at_;
};

class Read {
public:
    explicit Read(const uint8_t* at) : at_(at) {}
    [[nodiscard]] uint8_t next1() { return *at_++; }
    [[nodiscard]] uint16_t next2() {
        const uint16_t low = next1();
        return static_cast<uint16_t>(low | static_cast<uint16_t>(next1() << 8));
    }
    [[nodiscard]] uint32_t next4() {
        const uint32_t low = next2();
        return low | (static_cast<uint32_t>(next2()) << 16);
    }
    [[nodiscard]] int64_t position() {
        const uint32_t low = next4();
        const auto high = static_cast<int16_t>(next2());
        return static_cast<int64_t>(high) * 0x100000000 + static_cast<int64_t>(low);
    }

private:
    const uint8_t* at_;
};

Kind kind_of(uint8_t first) {
    return static_cast<Kind>(first >> kind_shift);
}

void pack_details(const Event& event, Bytes& bytes) {
    switch (event.kind) {
    case Kind::travel:
        return bytes.position(event.position_um);
    case Kind::drop:
        bytes.put4(event.number);
        bytes.position(event.position_um);
        return bytes.put1(static_cast<uint8_t>(event.count));
    case Kind::pulse:
        return bytes.put2(static_cast<uint16_t>(event.number));
    case Kind::beat:
        bytes.put2(static_cast<uint16_t>(event.number));
        return bytes.put4(event.count);
    case Kind::fault:
    case Kind::halted:
    case Kind::refused:
        return bytes.put1(static_cast<uint8_t>(event.word));
    case Kind::hello:
    case Kind::armed:
    case Kind::started:
    case Kind::hole:
        return;
    }
}

void unpack_details(Event& event, Read& bytes) {
    switch (event.kind) {
    case Kind::travel:
        event.position_um = bytes.position();
        return;
    case Kind::drop:
        event.number = bytes.next4();
        event.position_um = bytes.position();
        event.count = bytes.next1();
        return;
    case Kind::pulse:
        event.number = bytes.next2();
        return;
    case Kind::beat:
        event.number = bytes.next2();
        event.count = bytes.next4();
        return;
    case Kind::fault:
    case Kind::halted:
    case Kind::refused:
        event.word = static_cast<Word>(bytes.next1());
        return;
    case Kind::hello:
    case Kind::armed:
    case Kind::started:
    case Kind::hole:
        return;
    }
}

} // namespace

uint8_t packed_size(uint8_t first) {
    return static_cast<uint8_t>(1 + tick_bytes + detail_bytes[first >> kind_shift]);
}

bool is_hole(uint8_t first) {
    return kind_of(first) == Kind::hole;
}

uint8_t first_byte(const Event& event) {
    const auto gate = static_cast<uint8_t>(event.gate != 0 ? gate_bit : 0);
    return static_cast<uint8_t>((static_cast<uint8_t>(event.kind) << kind_shift) |
                                (event.channel & low_nibble) | gate);
}

void pack(const Event& event, uint8_t* at) {
    Bytes bytes(at);
    bytes.put1(first_byte(event));
    bytes.put4(event.kind == Kind::hole ? event.number : event.tick_us);
    pack_details(event, bytes);
}

Event unpack(const uint8_t* at) {
    Event event;
    event.kind = kind_of(*at);
    event.channel = static_cast<uint8_t>(*at & low_nibble);
    if (event.kind == Kind::pulse) {
        event.gate = (event.channel & gate_bit) != 0 ? 1 : 0;
        event.channel = static_cast<uint8_t>(event.channel & (gate_bit - 1));
    }
    Read bytes(at + 1);
    event.tick_us = bytes.next4();
    if (event.kind == Kind::hole)
        event.number = event.tick_us;
    unpack_details(event, bytes);
    return event;
}

bool must_get_through(Kind kind) {
    return kind != Kind::travel && kind != Kind::drop && kind != Kind::pulse && kind != Kind::beat;
}

Event state_event(Kind kind, Word word, uint32_t tick_us) {
    Event event;
    event.kind = kind;
    event.word = word;
    event.tick_us = tick_us;
    return event;
}

Event fault_event(uint8_t channel, Word word, uint32_t tick_us) {
    Event event = state_event(Kind::fault, word, tick_us);
    event.channel = channel;
    return event;
}

} // namespace controller
} // namespace dropledger
