#include "bench/controller/core/event.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint8_t low_nibble = 0x0F;
constexpr uint8_t kind_shift = 4;
constexpr uint8_t gate_bit = 8;
constexpr uint8_t tick_bytes = 4;
constexpr uint8_t position_bytes = 6;
constexpr uint8_t position_bits = 48;

// Bytes behind the first and the tick, for each Kind in its order.
constexpr uint8_t detail_bytes[] = {
    0, position_bytes, 4 + position_bytes + 1, 2, 2 + 4, 1, 0, 0, 1, 1, 0};

class Bytes {
public:
    explicit Bytes(uint8_t* at) : at_(at) {}
    void put(uint64_t value, uint8_t size) {
        for (; size > 0; --size, value >>= 8)
            *at_++ = static_cast<uint8_t>(value & 0xFFU);
    }

private:
    uint8_t* at_;
};

class Read {
public:
    explicit Read(const uint8_t* at) : at_(at) {}
    [[nodiscard]] uint64_t next(uint8_t size) {
        uint64_t value = 0;
        for (uint8_t i = size; i > 0; --i)
            value = (value << 8) | at_[i - 1];
        at_ += size;
        return value;
    }
    [[nodiscard]] uint32_t next4() { return static_cast<uint32_t>(next(4)); }
    [[nodiscard]] int64_t position() {
        constexpr uint64_t sign = uint64_t{1} << (position_bits - 1);
        return static_cast<int64_t>(next(position_bytes) ^ sign) - static_cast<int64_t>(sign);
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
        return bytes.put(static_cast<uint64_t>(event.position_um), position_bytes);
    case Kind::drop:
        bytes.put(event.number, 4);
        bytes.put(static_cast<uint64_t>(event.position_um), position_bytes);
        return bytes.put(event.count, 1);
    case Kind::pulse:
        return bytes.put(event.number, 2);
    case Kind::beat:
        bytes.put(event.number, 2);
        return bytes.put(event.count, 4);
    case Kind::fault:
    case Kind::halted:
    case Kind::refused:
        return bytes.put(static_cast<uint8_t>(event.word), 1);
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
        event.count = static_cast<uint32_t>(bytes.next(1));
        return;
    case Kind::pulse:
        event.number = static_cast<uint32_t>(bytes.next(2));
        return;
    case Kind::beat:
        event.number = static_cast<uint32_t>(bytes.next(2));
        event.count = bytes.next4();
        return;
    case Kind::fault:
    case Kind::halted:
    case Kind::refused:
        event.word = static_cast<Word>(bytes.next(1));
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
    bytes.put(first_byte(event), 1);
    bytes.put(event.kind == Kind::hole ? event.number : event.tick_us, tick_bytes);
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
