#include "analysis/droplog/line.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/crc.hpp"
#include "analysis/droplog/field_cursor.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>
#include <charconv>
#include <cstring>
#include <initializer_list>

namespace dropledger::droplog {

namespace {

// Each byte's two digits, so that a stated check is compared without a branch per digit.
constexpr auto hex_pairs = [] {
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::array<std::uint16_t, 256> pairs{};
    for (std::size_t byte = 0; byte < 256; ++byte)
        pairs[byte] =
            std::bit_cast<std::uint16_t>(std::array{digits[byte >> 4U], digits[byte & 15U]});
    return pairs;
}();

bool states(const char* digits, std::uint16_t check) {
    std::array<std::uint16_t, 2> stated{};
    std::memcpy(stated.data(), digits, sizeof stated);
    return stated[0] == hex_pairs[check >> 8U] && stated[1] == hex_pairs[check & 0xffU];
}

// The first bytes of a line, compared with a text as one number.
class Beginning {
public:
    explicit Beginning(const char* line) { std::memcpy(&word_, line, sizeof word_); }

    struct Text {
        std::uint64_t word;
        std::uint64_t mask; // of the bytes that are compared
    };
    static consteval Text text(std::string_view text) {
        Bytes bytes{};
        Bytes compared{};
        std::copy(text.begin(), text.end(), bytes.begin());
        std::fill_n(compared.begin(), text.size(), '\xff');
        return {std::bit_cast<std::uint64_t>(bytes), std::bit_cast<std::uint64_t>(compared)};
    }
    [[nodiscard]] bool is(Text text) const { return (word_ & text.mask) == text.word; }

    static constexpr std::size_t size = sizeof(std::uint64_t);

private:
    using Bytes = std::array<char, size>;
    std::uint64_t word_ = 0;
};

std::string_view without_cr(std::string_view line) {
    if (!line.empty() && line.back() == '\r')
        line.remove_suffix(1);
    return line;
}

constexpr std::int64_t greatest_position_um = 900'000'000'000'000'000; // 18 digits
constexpr std::int64_t greatest_time_us = 999'999'999'999'999'999;

struct Named {
    std::string_view text;
    LineName name;
};

constexpr std::array<Named, 22> names{{{"hello", LineName::hello},
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
                                       {"@confirmed", LineName::host_confirmed},
                                       {"@ending", LineName::host_ending},
                                       {"@seal", LineName::host_seal},
                                       {"@close", LineName::host_close}}};

// The name, and where its fields begin.
struct Start {
    LineName name;
    std::size_t size;
};

Start start_of(std::string_view body) {
    // the three that make up almost every log, first; shorter bodies than these have no fields
    if (body.size() + check_size >= Beginning::size) {
        const Beginning beginning{body.data()};
        if (beginning.is(Beginning::text("pulse,")))
            return {LineName::pulse, 5};
        if (beginning.is(Beginning::text("drop,")))
            return {LineName::drop, 4};
        if (beginning.is(Beginning::text("travel,")))
            return {LineName::travel, 6};
    }
    const std::string_view name = body.substr(0, body.find(','));
    const auto* const found =
        std::find_if(names.begin(), names.end(), [&](const Named& n) { return n.text == name; });
    return {found == names.end() ? LineName::unknown : found->name, name.size()};
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
    record.channel = static_cast<std::int16_t>(fields.signed_number(greatest_channel));
    if (record.channel < -1)
        fields.fail();
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
    else if (name == LineName::refused || (name == LineName::halted && fields.more()))
        static_cast<void>(fields.text());
}

struct HostShape {
    LineName name;
    std::ptrdiff_t fewest;
    std::ptrdiff_t most;
};

// How many fields a host line has, the name not counted.
constexpr std::array<HostShape, 12> host_shapes{{{LineName::host_droplog, 3, 3},
                                                 {LineName::host_set, 2, 2},
                                                 {LineName::host_channel, 3, 3},
                                                 {LineName::host_sent, 1, 1},
                                                 {LineName::host_at, 2, 2},
                                                 {LineName::host_note, 1, 1},
                                                 {LineName::host_damaged, 1, 1},
                                                 {LineName::host_resumed, 1, 1},
                                                 {LineName::host_confirmed, 1, 1},
                                                 {LineName::host_ending, 1, 1},
                                                 {LineName::host_seal, 2, 2},
                                                 {LineName::host_close, 3, 3}}};

// A log of another version may have a header of another shape: whoever reads it must learn the
// version.
bool is_of_another_version(LineName name, std::string_view fields) {
    if (name != LineName::host_droplog || fields.empty())
        return false;
    const std::string_view version = fields.substr(1, fields.find(',', 1) - 1);
    return !version.empty() && version != "1";
}

// A seal's numbers are left to whoever checks the seals: one that does not parse does not hold.
bool numbers_parse(LineName name, std::string_view text) {
    FieldCursor fields(text);
    if (name == LineName::host_at) {
        static_cast<void>(fields.field<std::uint32_t>());
        static_cast<void>(fields.signed_number(greatest_time_us));
    } else if (name == LineName::host_resumed || name == LineName::host_confirmed) {
        static_cast<void>(fields.signed_number(greatest_time_us));
    } else if (name == LineName::host_channel) {
        static_cast<void>(fields.number(greatest_channel));
    }
    return !fields.failed();
}

// False where it is damaged.
bool read_host(std::string_view body, std::size_t name_size, Record& record) {
    if (!is_printable_ascii(body))
        return false;
    const std::string_view fields = body.substr(name_size);
    if (record.name == LineName::unknown || is_of_another_version(record.name, fields))
        return true;
    const auto* const shape =
        std::find_if(host_shapes.begin(), host_shapes.end(),
                     [&](const HostShape& s) { return s.name == record.name; });
    const auto count = std::count(fields.begin(), fields.end(), ',');
    record.extra_fields = count > shape->most;
    return count >= shape->fewest && numbers_parse(record.name, fields);
}

// CRC and length of a line whose numbers say the rest; more than its CRC of one that has text.
std::uint32_t check_of(std::string_view body, const Record& record) {
    constexpr std::uint32_t prime = 16'777'619; // FNV-1a, 32 bit
    const bool all_numbers = record.name == LineName::pulse || record.name == LineName::drop ||
                             record.name == LineName::travel || record.name == LineName::beat;
    if (all_numbers && !record.extra_fields)
        return record.check | static_cast<std::uint32_t>(body.size()) << 16U;
    std::uint32_t hash = 2'166'136'261U;
    for (const char c : body)
        hash = (hash ^ static_cast<unsigned char>(c)) * prime;
    return record.check | (hash & 0xffff0000U);
}

// False where it is damaged.
bool read_controller(std::string_view body, std::size_t name_size, Record& record) {
    FieldCursor fields(body.substr(name_size));
    record.seq = fields.field<std::uint32_t>();
    record.tick_us = fields.field<std::uint32_t>();
    if (record.name == LineName::unknown) {
        if (!is_printable_ascii(body))
            return false;
        record.name = fields.failed() ? LineName::unknown : LineName::unknown_controller;
        record.check = check_of(body, record);
        return true;
    }
    read_controller_fields(fields, record);
    record.extra_fields = fields.more();
    if (fields.failed() || (record.extra_fields && !is_printable_ascii(body)))
        return false;
    record.check = check_of(body, record);
    return true;
}

void add_check(std::string& line) {
    const std::uint16_t check = crc16(line);
    const std::array pairs{hex_pairs[check >> 8U], hex_pairs[check & 0xffU]};
    const auto digits = std::bit_cast<std::array<char, 4>>(pairs);
    line += '*';
    line.append(digits.data(), digits.size());
}

// Four numbers at the most: it cannot grow too long.
std::string line_of_numbers(std::string_view name, Stamp at,
                            std::initializer_list<std::int64_t> numbers) {
    std::array<char, longest_line> bytes; // NOLINT(cppcoreguidelines-pro-type-member-init)
    char* end = std::copy(name.begin(), name.end(), bytes.data());
    const auto add = [&](std::int64_t number) {
        *end++ = ',';
        end = std::to_chars(end, bytes.data() + bytes.size(), number).ptr;
    };
    add(at.seq);
    add(at.tick_us);
    for (const std::int64_t number : numbers)
        add(number);
    std::string line;
    line.reserve(static_cast<std::size_t>(end - bytes.data()) + check_size + 1); // the LF as well
    line.append(bytes.data(), end);
    add_check(line);
    return line;
}

struct Checked {
    std::string_view body;
    std::uint16_t check;
};

inline std::optional<Checked> checked_of(std::string_view line) {
    line = without_cr(line);
    if (line.size() <= check_size || line.size() + 1 > longest_line)
        return std::nullopt;
    const std::string_view body = line.substr(0, line.size() - check_size);
    if (line[body.size()] != '*')
        return std::nullopt;
    const std::uint16_t check = crc16(body);
    if (!states(line.data() + body.size() + 1, check))
        return std::nullopt;
    return Checked{body, check};
}

} // namespace

std::optional<std::string_view> checked_body(std::string_view line) {
    const auto checked = checked_of(line);
    return checked ? std::optional{checked->body} : std::nullopt;
}

// One record from beginning to end, made where the caller wants it: a copy would wait for its
// fields to be written.
Record decode(std::string_view line) {
    Record record;
    const auto checked = checked_of(line);
    if (!checked || checked->body.front() == ',')
        return record;
    const std::string_view body = checked->body;
    const Start start = start_of(body);
    record.name = start.name;
    record.check = checked->check;
    const bool whole = body.front() == '@' ? read_host(body, start.size, record)
                                           : read_controller(body, start.size, record);
    if (!whole)
        record = Record{};
    return record;
}

std::vector<std::string_view> fields_of(std::string_view body) {
    return split(body, ',');
}

std::string encode(std::string_view body) {
    if (body.empty() || body.size() + check_size + 1 > longest_line || !is_printable_ascii(body))
        throw BrokenInvariant(fmt::format("not a legal droplog line: {}", percent_encode(body)));
    std::string line;
    line.reserve(body.size() + check_size + 1); // the LF as well
    line += body;
    add_check(line);
    return line;
}

std::string hello_line(Stamp at, const HelloLine& hello) {
    return encode(fmt::format("hello,{},{},{},{},{},{}", at.seq, at.tick_us, hello.protocol,
                              percent_encode(hello.boot), hello.channels,
                              percent_encode(hello.firmware)));
}

std::string travel_line(Stamp at, std::int64_t position_um) {
    return line_of_numbers("travel", at, {position_um});
}

std::string drop_line(Stamp at, const DropLine& drop) {
    return line_of_numbers("drop", at, {drop.channel, drop.index, drop.position_um, drop.count});
}

std::string pulse_line(Stamp at, const PulseLine& pulse) {
    return line_of_numbers("pulse", at,
                           {pulse.channel, pulse.gate, pulse.width_us, pulse.depth_milli});
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
