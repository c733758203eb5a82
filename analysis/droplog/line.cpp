#include "analysis/droplog/line.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/crc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <limits>

namespace dropledger::droplog {

namespace {

constexpr std::size_t check_size = 5; // "*CCCC"
constexpr std::int64_t greatest_channel = 255;

int hex_value(char c) {
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

std::optional<std::uint16_t> stated_check(std::string_view digits) {
    int value = 0;
    for (const char c : digits) {
        const int digit = hex_value(c);
        if (digit < 0)
            return std::nullopt;
        value = value * 16 + digit;
    }
    return static_cast<std::uint16_t>(value);
}

bool is_printable_ascii(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c >= 0x20 && c < 0x7f; });
}

std::string_view without_cr(std::string_view line) {
    if (!line.empty() && line.back() == '\r')
        line.remove_suffix(1);
    return line;
}

// Reads the fields of a body from left to right; stays failed once a field does not parse.
class FieldCursor {
public:
    explicit FieldCursor(std::string_view rest) : at_(rest.data()), end_(at_ + rest.size()) {}

    [[nodiscard]] bool failed() const { return failed_; }
    [[nodiscard]] bool more() const { return at_ != end_; }

    // A decimal number up to `greatest`; each field is introduced by its comma.
    std::uint64_t number(std::uint64_t greatest) {
        if (at_ == end_ || *at_ != ',')
            return fail();
        ++at_;
        return digits(greatest);
    }

    std::int64_t signed_number(std::int64_t greatest) {
        if (end_ - at_ < 2 || *at_ != ',')
            return static_cast<std::int64_t>(fail());
        const bool negative = at_[1] == '-';
        at_ += negative ? 2 : 1;
        const auto value = static_cast<std::int64_t>(digits(static_cast<std::uint64_t>(greatest)));
        return negative ? -value : value;
    }

    template <class T> T field() { return static_cast<T>(number(std::numeric_limits<T>::max())); }

    // A text field, which may not be empty.
    std::string_view text() {
        if (end_ - at_ < 2 || *at_ != ',' || at_[1] == ',') {
            fail();
            return {};
        }
        ++at_;
        const char* const start = at_;
        at_ = std::find(at_, end_, ',');
        return {start, static_cast<std::size_t>(at_ - start)};
    }

private:
    std::uint64_t fail() {
        failed_ = true;
        return 0;
    }

    std::uint64_t digits(std::uint64_t greatest) {
        const char* const start = at_;
        std::uint64_t value = 0;
        while (at_ != end_) {
            const auto digit = static_cast<unsigned>(*at_ - '0');
            if (digit > 9)
                break;
            value = value * 10 + digit;
            ++at_;
        }
        const bool ends_here = at_ == end_ || *at_ == ',';
        const auto length = at_ - start;
        if (!ends_here || length == 0 || length > 18 || value > greatest)
            return fail();
        return value;
    }

    const char* at_;
    const char* end_;
    bool failed_ = false;
};

constexpr std::int64_t greatest_position_um = 900'000'000'000'000'000; // 18 digits

struct Named {
    std::string_view text;
    LineName name;
};

constexpr std::array<Named, 20> names{{{"hello", LineName::hello},
                                       {"travel", LineName::travel},
                                       {"drop", LineName::drop},
                                       {"pulse", LineName::pulse},
                                       {"beat", LineName::beat},
                                       {"fault", LineName::fault},
                                       {"armed", LineName::armed},
                                       {"started", LineName::started},
                                       {"halted", LineName::halted},
                                       {"refused", LineName::refused},
                                       {"@droplog", LineName::host_droplog},
                                       {"@set", LineName::host_set},
                                       {"@channel", LineName::host_channel},
                                       {"@sent", LineName::host_sent},
                                       {"@at", LineName::host_at},
                                       {"@note", LineName::host_note},
                                       {"@damaged", LineName::host_damaged},
                                       {"@resumed", LineName::host_resumed},
                                       {"@seal", LineName::host_seal},
                                       {"@close", LineName::host_close}}};

LineName name_of(std::string_view name) {
    // the three that make up almost every log, first
    if (name == "pulse")
        return LineName::pulse;
    if (name == "drop")
        return LineName::drop;
    if (name == "travel")
        return LineName::travel;
    const auto* const found =
        std::find_if(names.begin(), names.end(), [&](const Named& n) { return n.text == name; });
    return found == names.end() ? LineName::unknown : found->name;
}

void read_drop(FieldCursor& fields, Record& record) {
    record.channel = static_cast<std::int16_t>(fields.number(greatest_channel));
    record.index = fields.field<std::uint32_t>();
    record.position_um = fields.signed_number(greatest_position_um);
    record.count = fields.field<std::uint32_t>();
}

void read_pulse(FieldCursor& fields, Record& record) {
    record.channel = static_cast<std::int16_t>(fields.number(greatest_channel));
    record.gate = fields.field<std::uint16_t>();
    record.width_us = fields.field<std::uint32_t>();
    record.depth_milli = fields.field<std::uint16_t>();
}

void read_hello(FieldCursor& fields, Record& record) {
    record.index = fields.field<std::uint32_t>();
    static_cast<void>(fields.text()); // BOOT
    record.count = fields.field<std::uint32_t>();
    static_cast<void>(fields.text()); // FIRMWARE
}

void read_beat(FieldCursor& fields, Record& record) {
    record.index = fields.field<std::uint32_t>();
    record.count = fields.field<std::uint32_t>();
}

void read_fault(FieldCursor& fields, Record& record) {
    const std::int64_t channel = fields.signed_number(greatest_channel);
    record.channel = static_cast<std::int16_t>(channel < -1 ? -1 : channel);
    static_cast<void>(fields.text());
}

// The fields after SEQ and TICK.
void read_controller_fields(FieldCursor& fields, Record& record) {
    const LineName name = record.name;
    if (name == LineName::pulse)
        return read_pulse(fields, record);
    if (name == LineName::drop)
        return read_drop(fields, record);
    if (name == LineName::travel)
        record.position_um = fields.signed_number(greatest_position_um);
    else if (name == LineName::beat)
        read_beat(fields, record);
    else if (name == LineName::hello)
        read_hello(fields, record);
    else if (name == LineName::fault)
        read_fault(fields, record);
    else if ((name == LineName::halted || name == LineName::refused) && fields.more())
        static_cast<void>(fields.text());
}

struct HostShape {
    LineName name;
    std::size_t fewest;
    std::size_t most;
};

// How many fields a host line has, the name not counted.
constexpr std::array<HostShape, 10> host_shapes{{{LineName::host_droplog, 3, 3},
                                                 {LineName::host_set, 2, 2},
                                                 {LineName::host_channel, 3, 3},
                                                 {LineName::host_sent, 1, 1},
                                                 {LineName::host_at, 2, 2},
                                                 {LineName::host_note, 1, 1},
                                                 {LineName::host_damaged, 1, 1},
                                                 {LineName::host_resumed, 1, 1},
                                                 {LineName::host_seal, 2, 2},
                                                 {LineName::host_close, 3, 3}}};

Record read_host(std::string_view body, Record record) {
    if (!is_printable_ascii(body))
        return Record{};
    if (record.name == LineName::unknown)
        return record;
    const auto* const shape =
        std::find_if(host_shapes.begin(), host_shapes.end(),
                     [&](const HostShape& s) { return s.name == record.name; });
    const auto fields = static_cast<std::size_t>(std::count(body.begin(), body.end(), ','));
    if (fields < shape->fewest)
        return Record{};
    record.extra_fields = fields > shape->most;
    return record;
}

Record read_controller(std::string_view body, std::size_t name_size, Record record) {
    FieldCursor fields(body.substr(name_size));
    record.seq = fields.field<std::uint32_t>();
    record.tick_us = fields.field<std::uint32_t>();
    if (record.name == LineName::unknown) {
        if (!is_printable_ascii(body))
            return Record{};
        record.name = fields.failed() ? LineName::unknown : LineName::unknown_controller;
        return record;
    }
    read_controller_fields(fields, record);
    record.extra_fields = fields.more();
    if (fields.failed() || (record.extra_fields && !is_printable_ascii(body)))
        return Record{};
    return record;
}

} // namespace

std::optional<std::string_view> checked_body(std::string_view line) {
    line = without_cr(line);
    if (line.size() <= check_size || line.size() + 1 > longest_line)
        return std::nullopt;
    const std::string_view body = line.substr(0, line.size() - check_size);
    if (line[body.size()] != '*')
        return std::nullopt;
    if (stated_check(line.substr(body.size() + 1)) != crc16(body))
        return std::nullopt;
    return body;
}

Record decode(std::string_view line) {
    const auto body = checked_body(line);
    if (!body)
        return Record{};
    Record record;
    const std::size_t name_size = std::min(body->find(','), body->size());
    record.name = name_of(body->substr(0, name_size));
    record.check = *stated_check(without_cr(line).substr(body->size() + 1));
    if (body->front() == '@')
        return read_host(*body, record);
    return read_controller(*body, name_size, record);
}

std::vector<std::string_view> fields_of(std::string_view body) { return split(body, ','); }

std::string encode(std::string_view body) {
    if (body.empty() || body.size() + check_size + 1 > longest_line || !is_printable_ascii(body))
        throw BrokenInvariant(fmt::format("not a legal droplog line: {}", percent_encode(body)));
    return fmt::format("{}*{:04X}", body, crc16(body));
}

std::string hello_line(Stamp at, const HelloLine& hello) {
    return encode(fmt::format("hello,{},{},{},{},{},{}", at.seq, at.tick_us, hello.protocol,
                              percent_encode(hello.boot), hello.channels,
                              percent_encode(hello.firmware)));
}

std::string travel_line(Stamp at, std::int64_t position_um) {
    return encode(fmt::format("travel,{},{},{}", at.seq, at.tick_us, position_um));
}

std::string drop_line(Stamp at, const DropLine& drop) {
    return encode(fmt::format("drop,{},{},{},{},{},{}", at.seq, at.tick_us, drop.channel, drop.index,
                              drop.position_um, drop.count));
}

std::string pulse_line(Stamp at, const PulseLine& pulse) {
    return encode(fmt::format("pulse,{},{},{},{},{},{}", at.seq, at.tick_us, pulse.channel,
                              pulse.gate, pulse.width_us, pulse.depth_milli));
}

std::string beat_line(Stamp at, std::uint32_t backlog, std::uint32_t lost) {
    return encode(fmt::format("beat,{},{},{},{}", at.seq, at.tick_us, backlog, lost));
}

std::string fault_line(Stamp at, int channel, std::string_view code) {
    return encode(fmt::format("fault,{},{},{},{}", at.seq, at.tick_us, channel, code));
}

std::string state_line(Stamp at, std::string_view name, std::string_view detail) {
    return encode(fmt::format("{},{},{}{}{}", name, at.seq, at.tick_us, detail.empty() ? "" : ",",
                              percent_encode(detail)));
}

} // namespace dropledger::droplog
