// A line of the wire, put together byte by byte in a fixed room, its check kept on the way.
//
// Assumes: what is put is printable and fits `line_room`; the longest line, `hello`, is below it
// (a test holds every kind of line to that). Divides nothing below 2^32: the MCU has no divider.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

constexpr uint8_t line_room = 120; // with the check and the LF

// CRC-16/IBM-3740 of one byte more.
[[nodiscard]] uint16_t crc_with(uint16_t crc, uint8_t byte);
constexpr uint16_t crc_start = 0xFFFF;
constexpr char hex_digits[] = "0123456789ABCDEF"; // of the check

class LineText {
public:
    void begin();
    void put(char one);
    void text(const char* words);
    void number(uint32_t value);
    void number64(int64_t value);
    void field(uint32_t value) {
        put(',');
        number(value);
    }
    void finish(); // the check and the LF

    [[nodiscard]] const char* bytes() const { return bytes_; }
    [[nodiscard]] uint8_t size() const { return size_; }

private:
    void add(char one);
    void digits(uint32_t value, bool all_nine);

    char bytes_[line_room];
    uint8_t size_ = 0;
    uint16_t crc_ = crc_start;
};

} // namespace controller
} // namespace dropledger
