// What comes from the host, byte by byte, and the command that it makes: sections 2 and 4.
//
// Assumes: nothing of what comes. A line of any length is read in a fixed room: what stands beyond
// it can only be a command that is not known or a number with too many digits.
#pragma once

#include "bench/controller/core/line_text.hpp"

#include <stdint.h>

namespace dropledger {
namespace controller {

enum class Heard : uint8_t { nothing, command, too_long, bad_check };

struct Field {
    const char* at = nullptr;
    uint8_t size = 0;
};

[[nodiscard]] bool is(const Field& field, const char* words);
// At most 18 digits and nothing else, `-` before them for signed ones.
[[nodiscard]] bool parse(const Field& field, int64_t& value);
[[nodiscard]] bool parse(const Field& field, uint32_t& value);

class CommandReader {
public:
    [[nodiscard]] Heard take(char byte);

    // Of the command just heard, until the next byte is taken. field(0) is the name.
    [[nodiscard]] uint8_t fields() const;
    [[nodiscard]] Field field(uint8_t number) const; // empty where there is none

private:
    void add(char byte);
    [[nodiscard]] Heard end();
    void begin();

    static constexpr uint8_t room = 128; // of the body; `arm` with 18 digits in each number is 106
    static constexpr uint8_t check_size = 5;
    char body_[room];
    char tail_[check_size]; // the last bytes: nobody knows yet whether they are the check
    uint8_t length_ = 0;    // of the line so far, at most 240
    uint8_t kept_ = 0;      // of the body; complete only after end()
    uint16_t crc_ = crc_start;
    bool bad_byte_ = false;
    bool after_cr_ = false;
    bool ended_ = true;
};

} // namespace controller
} // namespace dropledger
