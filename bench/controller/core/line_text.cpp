#include "bench/controller/core/line_text.hpp"

namespace dropledger {
namespace controller {

namespace {

constexpr uint32_t powers[] = {1000000000, 100000000, 10000000, 1000000, 100000,
                               10000,      1000,      100,      10};
constexpr uint32_t billion = 1000000000;

} // namespace

// The eight steps of the bitwise definition at once; the test compares the two.
uint16_t crc_with(uint16_t crc, uint8_t byte) {
    auto turned = static_cast<uint16_t>(static_cast<uint16_t>(crc << 8) | (crc >> 8));
    turned = static_cast<uint16_t>(turned ^ byte);
    turned = static_cast<uint16_t>(turned ^ ((turned & 0xFFU) >> 4));
    turned = static_cast<uint16_t>(turned ^ static_cast<uint16_t>(turned << 12));
    return static_cast<uint16_t>(turned ^ static_cast<uint16_t>((turned & 0xFFU) << 5));
}

void LineText::begin() {
    size_ = 0;
    crc_ = crc_start;
}

void LineText::add(char one) {
    if (size_ < line_room)
        bytes_[size_++] = one;
}

void LineText::put(char one) {
    crc_ = crc_with(crc_, static_cast<uint8_t>(one));
    add(one);
}

void LineText::text(const char* words) {
    for (; *words != '\0'; ++words)
        put(*words);
}

void LineText::digits(uint32_t value, bool all_nine) {
    bool begun = false;
    for (const uint32_t power : powers) {
        char digit = '0';
        for (; value >= power; value -= power)
            ++digit;
        begun = begun || digit != '0' || (all_nine && power < billion);
        if (begun)
            put(digit);
    }
    put(static_cast<char>('0' + static_cast<char>(value)));
}

void LineText::number(uint32_t value) {
    digits(value, false);
}

void LineText::number64(int64_t value) {
    if (value < 0)
        put('-');
    const auto magnitude =
        value < 0 ? uint64_t{0} - static_cast<uint64_t>(value) : static_cast<uint64_t>(value);
    if (magnitude <= 0xFFFFFFFFU)
        return number(static_cast<uint32_t>(magnitude));
    const uint64_t high = magnitude / billion;
    number64(static_cast<int64_t>(high));
    digits(static_cast<uint32_t>(magnitude - high * billion), true);
}

void LineText::finish() {
    const uint16_t crc = crc_;
    add('*');
    for (int8_t shift = 12; shift >= 0; shift = static_cast<int8_t>(shift - 4))
        add(hex_digits[(crc >> shift) & 0xFU]);
    add('\n');
}

} // namespace controller
} // namespace dropledger
