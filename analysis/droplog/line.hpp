// One line of a droplog or of the wire: `name,field,…*CCCC`, read and written.
//
// Assumes: the line comes without its LF (and without the CR that the wire may put before it).
// Units: in the names; tick_us wraps at 2^32 µs, positions are µm of travel.
// Undefined when: a line that is too long, fails its CRC, holds a byte that is not printable ASCII
// or has a field that does not parse is LineName::damaged, and nothing else of the record means
// anything.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::droplog {

constexpr std::size_t longest_line = 240; // bytes, LF included
constexpr std::size_t check_size = 5;     // "*CCCC"
constexpr std::int64_t greatest_channel = 255;

enum class LineName : std::uint8_t {
    // controller
    hello,
    travel,
    drop,
    pulse,
    beat,
    fault,
    armed,
    started,
    halted,
    refused,
    unknown_controller, // name not in the format, but with SEQ and TICK
    // host
    host_droplog,
    host_set,
    host_channel,
    host_sent,
    host_at,
    host_note,
    host_damaged,
    host_resumed,
    host_confirmed,
    host_ending,
    host_seal,
    host_close,
    unknown, // name not in the format and no SEQ and TICK, or an unknown host line
    damaged,
};

// What the numbers of a line say. Which of the fields count depends on the name.
struct Record {
    LineName name = LineName::damaged;
    bool extra_fields = false;     // more fields than this version knows; skipped
    std::int16_t channel = -1;     // drop, pulse, fault (-1: no channel at fault)
    std::uint32_t seq = 0;         // every controller line
    std::uint32_t tick_us = 0;     // every controller line
    std::uint32_t index = 0;       // drop: INDEX · beat: BACKLOG · hello: PROTOCOL
    std::uint32_t count = 0;       // drop: COUNT · beat: LOST · hello: CHANNELS
    std::uint32_t width_us = 0;    // pulse
    std::uint16_t depth_milli = 0; // pulse: peak attenuation, thousandths
    std::uint16_t gate = 0;        // pulse
    std::uint32_t check = 0; // CRC in the low half; tells two lines with the same numbers apart
    std::int64_t position_um = 0; // travel, drop

    [[nodiscard]] bool from_controller() const { return name <= LineName::unknown_controller; }
};

// `line` without LF; a trailing CR is tolerated and ignored.
[[nodiscard]] Record decode(std::string_view line);

// The part before `*CCCC` where length, characters and CRC are right, else nothing.
[[nodiscard]] std::optional<std::string_view> checked_body(std::string_view line);

// What stands before the `*CCCC` of a line that is known to be whole.
[[nodiscard]] inline std::string_view body_of_whole(std::string_view line) {
    return line.substr(0, line.size() - check_size - (line.back() == '\r' ? 1 : 0));
}

// The fields of a checked body, the name first; host text fields are still percent-encoded.
[[nodiscard]] std::vector<std::string_view> fields_of(std::string_view body);

// body + `*CCCC`, no LF. Throws BrokenInvariant where the result would not be a legal line.
[[nodiscard]] std::string encode(std::string_view body);

// Controller lines, complete with CRC, without LF.
struct Stamp {
    std::uint32_t seq = 0;
    std::uint32_t tick_us = 0;
};
struct HelloLine {
    std::uint32_t protocol = 1;
    std::string boot; // differs at every boot; digits, letters and dashes
    std::uint32_t channels = 0;
    std::string firmware;
};
struct DropLine {
    int channel = 0;
    std::uint32_t index = 0;
    std::int64_t position_um = 0;
    std::uint32_t count = 1;
};
struct PulseLine {
    int channel = 0;
    std::uint32_t gate = 0;
    std::uint32_t width_us = 0;
    std::uint32_t depth_milli = 0;
};
[[nodiscard]] std::string hello_line(Stamp at, const HelloLine& hello);
[[nodiscard]] std::string travel_line(Stamp at, std::int64_t position_um);
[[nodiscard]] std::string drop_line(Stamp at, const DropLine& drop);
[[nodiscard]] std::string pulse_line(Stamp at, const PulseLine& pulse);
[[nodiscard]] std::string beat_line(Stamp at, std::uint32_t backlog, std::uint32_t lost);
[[nodiscard]] std::string fault_line(Stamp at, int channel, std::string_view code);
// name: armed, started, halted (with a reason), refused (with a code); detail may be empty.
[[nodiscard]] std::string state_line(Stamp at, std::string_view name, std::string_view detail);

} // namespace dropledger::droplog
