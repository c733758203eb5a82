#include "bench/controller/core/command.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint8_t longest_line = 239; // without its LF
constexpr uint8_t most_digits = 18;

bool is_printable(char byte) {
    return byte >= 0x20 && byte <= 0x7E;
}

bool read_digits(const Field& field, uint64_t& value) {
    if (field.size == 0 || field.size > most_digits)
        return false;
    value = 0;
    for (uint8_t i = 0; i < field.size; ++i) {
        if (field.at[i] < '0' || field.at[i] > '9')
            return false;
        value = value * 10 + static_cast<uint64_t>(field.at[i] - '0');
    }
    return true;
}

} // namespace

bool is(const Field& field, const char* words) {
    uint8_t i = 0;
    for (; i < field.size; ++i)
        if (words[i] == '\0' || words[i] != field.at[i])
            return false;
    return words[i] == '\0';
}

bool parse(const Field& field, int64_t& value) {
    const bool negative = field.size > 0 && *field.at == '-';
    Field digits = field;
    if (negative) {
        ++digits.at;
        --digits.size;
    }
    uint64_t magnitude = 0;
    if (!read_digits(digits, magnitude))
        return false;
    value = negative ? -static_cast<int64_t>(magnitude) : static_cast<int64_t>(magnitude);
    return true;
}

bool parse(const Field& field, uint32_t& value) {
    uint64_t wide = 0;
    if (!read_digits(field, wide) || wide > 0xFFFFFFFFU)
        return false;
    value = static_cast<uint32_t>(wide);
    return true;
}

void CommandReader::begin() {
    length_ = kept_ = 0;
    crc_ = crc_start;
    bad_byte_ = after_cr_ = ended_ = false;
}

void CommandReader::add(char byte) {
    if (length_ > longest_line)
        return;
    bad_byte_ = bad_byte_ || !is_printable(byte);
    char& oldest = tail_[length_ % check_size];
    if (length_ >= check_size) {
        crc_ = crc_with(crc_, static_cast<uint8_t>(oldest));
        if (kept_ < room)
            body_[kept_++] = oldest;
    }
    oldest = byte;
    ++length_;
}

// A CR counts only when no LF follows it.
Heard CommandReader::take(char byte) {
    if (ended_)
        begin();
    if (byte == '\n')
        return end();
    if (after_cr_)
        add('\r');
    after_cr_ = byte == '\r';
    if (!after_cr_)
        add(byte);
    return Heard::nothing;
}

Heard CommandReader::end() {
    ended_ = true;
    if (length_ == 0)
        return Heard::nothing;
    if (length_ > longest_line)
        return Heard::too_long;
    if (bad_byte_ || length_ <= check_size)
        return Heard::bad_check;
    bool holds = tail_[length_ % check_size] == '*';
    for (uint8_t i = 1; i < check_size; ++i) {
        const auto shift = static_cast<uint8_t>(16 - 4 * i);
        holds = holds &&
                tail_[(length_ + i) % check_size] == hex_digits[(unsigned{crc_} >> shift) & 0xFU];
    }
    return holds ? Heard::command : Heard::bad_check;
}

uint8_t CommandReader::fields() const {
    uint8_t count = 1;
    for (uint8_t i = 0; i < kept_; ++i)
        count = static_cast<uint8_t>(count + (body_[i] == ',' ? 1 : 0));
    return count;
}

Field CommandReader::field(uint8_t number) const {
    uint8_t begin = 0;
    for (; number > 0 && begin < kept_; ++begin)
        number = static_cast<uint8_t>(number - (body_[begin] == ',' ? 1 : 0));
    uint8_t end = begin;
    while (end < kept_ && body_[end] != ',')
        ++end;
    return {&body_[begin], number > 0 ? uint8_t{0} : static_cast<uint8_t>(end - begin)};
}

} // namespace controller
} // namespace dropledger
