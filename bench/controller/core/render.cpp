#include "bench/controller/core/render.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint32_t protocol = 1;

const char* name_of(Kind kind) {
    switch (kind) {
    case Kind::hello:
        return "hello";
    case Kind::travel:
        return "travel";
    case Kind::drop:
        return "drop";
    case Kind::pulse:
        return "pulse";
    case Kind::beat:
        return "beat";
    case Kind::fault:
        return "fault";
    case Kind::armed:
        return "armed";
    case Kind::started:
        return "started";
    case Kind::halted:
        return "halted";
    case Kind::refused:
        return "refused";
    case Kind::hole:
        break;
    }
    return "hole";
}

void put_word(const Event& event, LineText& line) {
    line.put(',');
    line.text(text_of(event.word));
}

void put_hello(const Identity& identity, LineText& line) {
    line.field(protocol);
    line.put(',');
    line.text(identity.boot);
    line.field(identity.channels);
    line.put(',');
    line.text(identity.firmware);
}

void put_position(const Event& event, LineText& line) {
    line.put(',');
    line.number64(event.position_um);
}

void put_channel(const Event& event, LineText& line) {
    if (event.channel == no_channel)
        line.text(",-1");
    else
        line.field(event.channel);
}

void put_drop(const Event& event, LineText& line) {
    line.field(event.channel);
    line.field(event.number);
    put_position(event, line);
    line.field(event.count);
}

void put_pulse(const Event& event, LineText& line) {
    line.field(event.channel);
    line.field(event.gate);
    line.field(event.number);
    line.field(0);
}

void put_details(const Event& event, const Identity& identity, LineText& line) {
    switch (event.kind) {
    case Kind::hello:
        return put_hello(identity, line);
    case Kind::travel:
        return put_position(event, line);
    case Kind::drop:
        return put_drop(event, line);
    case Kind::pulse:
        return put_pulse(event, line);
    case Kind::beat:
        line.field(event.number);
        return line.field(event.count);
    case Kind::fault:
        put_channel(event, line);
        return put_word(event, line);
    case Kind::halted:
    case Kind::refused:
        return put_word(event, line);
    case Kind::armed:
    case Kind::started:
    case Kind::hole:
        return;
    }
}

constexpr const char* words[] = {
    "none",       "estop",       "guard",  "motor_stall", "gate_blocked", "encoder_skipped",
    "edges_lost", "host_silent", "host",   "count",       "fault",        "length",
    "crc",        "unknown",     "syntax", "seq",         "gone",         "state",
    "mode",       "spacing",     "speed",  "channels",    "drops"};

} // namespace

const char* text_of(Word word) {
    return words[static_cast<uint8_t>(word)];
}

void render(const Event& event, uint32_t seq, const Identity& identity, LineText& line) {
    line.begin();
    line.text(name_of(event.kind));
    line.field(seq);
    line.field(event.tick_us);
    put_details(event, identity, line);
    line.finish();
}

} // namespace controller
} // namespace dropledger
