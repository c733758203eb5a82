#include "bench/controller/core/line_text.hpp"

#include "bench/controller/core/render.hpp"

#include "analysis/droplog/line.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <string>
#include <string_view>

namespace dropledger::controller {
namespace {

std::string written(std::int64_t value) {
    LineText line;
    line.begin();
    line.number64(value);
    return {line.bytes(), line.size()};
}

// The definition: polynomial 0x1021, bit by bit.
std::uint16_t bitwise(std::uint16_t crc, std::uint8_t byte) {
    crc = static_cast<std::uint16_t>(crc ^ (byte << 8));
    for (int bit = 0; bit < 8; ++bit)
        crc = static_cast<std::uint16_t>((crc & 0x8000U) != 0 ? (crc << 1) ^ 0x1021 : crc << 1);
    return crc;
}

TEST(ControllerLine, ChecksTheCatalogueWord) {
    std::uint16_t crc = crc_start;
    for (const char one : std::string_view("123456789"))
        crc = crc_with(crc, static_cast<std::uint8_t>(one));
    EXPECT_EQ(crc, 0x29B1); // CRC-16/IBM-3740, catalogue of parametrised CRC algorithms
}

TEST(ControllerLine, ChecksAsTheBitwiseDefinitionDoes) {
    for (std::uint32_t crc = 0; crc < 0x10000; crc += 251)
        for (std::uint32_t byte = 0; byte < 256; ++byte)
            ASSERT_EQ(crc_with(static_cast<std::uint16_t>(crc), static_cast<std::uint8_t>(byte)),
                      bitwise(static_cast<std::uint16_t>(crc), static_cast<std::uint8_t>(byte)));
}

TEST(ControllerLine, WritesNumbersAsTheStandardLibraryDoes) {
    for (const std::int64_t value :
         {std::int64_t{0}, std::int64_t{9}, std::int64_t{10}, std::int64_t{-1},
          std::int64_t{999999999}, std::int64_t{1000000000}, std::int64_t{4294967295},
          std::int64_t{4294967296}, std::int64_t{5000000000}, std::int64_t{10000000001},
          std::int64_t{-140737488355327}})
        EXPECT_EQ(written(value), std::to_string(value));
}

// Every field at its largest, and it must be a legal line of the format that fits the room.
TEST(ControllerLine, NoLineOutgrowsItsRoom) {
    Identity identity;
    for (std::uint8_t i = 0; i + 1 < boot_room; ++i)
        identity.boot[i] = 'F';
    identity.channels = most_channels;
    identity.firmware = "dropledger-controller%201%20atmega2560";
    Event event;
    event.channel = 7;
    event.gate = 1;
    event.word = Word::encoder_skipped;
    event.tick_us = event.number = event.count = std::numeric_limits<std::uint32_t>::max();
    event.position_um = -140737488355327;
    for (std::uint8_t kind = 0; kind < static_cast<std::uint8_t>(Kind::hole); ++kind) {
        event.kind = static_cast<Kind>(kind);
        LineText line;
        render(event, std::numeric_limits<std::uint32_t>::max(), identity, line);
        ASSERT_LT(line.size(), line_room);
        const std::string text(line.bytes(), line.size() - 1U);
        EXPECT_TRUE(droplog::decode(text).from_controller()) << text;
        EXPECT_EQ(line.bytes()[line.size() - 1U], '\n');
    }
}

} // namespace
} // namespace dropledger::controller
