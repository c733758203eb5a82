// The smaller parts: commands, encoder, travel, gates.
#include "bench/controller/core/command.hpp"
#include "bench/controller/core/gate_watch.hpp"
#include "bench/controller/core/quadrature.hpp"
#include "bench/controller/core/travel.hpp"

#include "analysis/droplog/line.hpp"

#include <gtest/gtest.h>

#include <array>
#include <string>
#include <string_view>

namespace dropledger::controller {
namespace {

Heard heard(CommandReader& reader, std::string_view bytes) {
    Heard last = Heard::nothing;
    for (const char byte : bytes)
        last = reader.take(byte);
    return last;
}

std::string text(const Field& field) {
    return {field.at, field.size};
}

TEST(ControllerCommand, IsTakenApartAtItsCommas) {
    CommandReader reader;
    ASSERT_EQ(heard(reader, droplog::encode("resend,,007") + "\r\n"), Heard::command);
    EXPECT_EQ(reader.fields(), 3);
    EXPECT_EQ(text(reader.field(0)), "resend");
    EXPECT_EQ(text(reader.field(1)), "");
    std::uint32_t value = 0;
    EXPECT_TRUE(parse(reader.field(2), value));
    EXPECT_EQ(value, 7U);
    EXPECT_EQ(text(reader.field(3)), "");
}

TEST(ControllerCommand, OfEveryLengthIsReadAsTheFormatSays) {
    CommandReader reader;
    for (std::size_t length = 1; length <= 234; ++length)
        ASSERT_EQ(heard(reader, droplog::encode(std::string(length, 'x')) + "\n"), Heard::command)
            << length;
    EXPECT_EQ(heard(reader, std::string(239, 'x') + "\n"), Heard::bad_check);
    EXPECT_EQ(heard(reader, std::string(240, 'x') + "\n"), Heard::too_long);
    EXPECT_EQ(heard(reader, std::string(9999, 'x') + "\r\n"), Heard::too_long);
    EXPECT_EQ(heard(reader, "*FFFF\n"), Heard::bad_check);
    EXPECT_EQ(heard(reader, "\n"), Heard::nothing);
    EXPECT_EQ(heard(reader, droplog::encode("go") + "\n"), Heard::command);
}

TEST(ControllerCommand, WithOneWrongByteIsNone) {
    const std::string good = droplog::encode("arm,single,100000,1,250000,1,6");
    CommandReader reader;
    for (std::size_t at = 0; at < good.size(); ++at)
        for (int byte = 0; byte < 256; ++byte) {
            std::string bad = good;
            bad[at] = static_cast<char>(byte);
            if (bad == good || byte == '\n' || (byte == '\r' && at + 1 == good.size()))
                continue;
            ASSERT_EQ(heard(reader, bad + "\n"), Heard::bad_check) << bad;
        }
}

TEST(ControllerCommand, NumbersAreHeldToTheirRange) {
    const auto field = [](std::string_view words) {
        return Field{words.data(), static_cast<std::uint8_t>(words.size())};
    };
    std::uint32_t small = 0;
    std::int64_t wide = 0;
    EXPECT_TRUE(parse(field("4294967295"), small));
    EXPECT_FALSE(parse(field("4294967296"), small));
    EXPECT_FALSE(parse(field("-1"), small));
    EXPECT_FALSE(parse(field("+1"), wide));
    EXPECT_FALSE(parse(field("-"), wide));
    EXPECT_FALSE(parse(field(""), wide));
    EXPECT_TRUE(parse(field("-000000000000000005"), wide));
    EXPECT_EQ(wide, -5);
    EXPECT_FALSE(parse(field("0000000000000000001"), wide)); // 19 digits
}

TEST(ControllerEncoder, CountsForwardsBackwardsAndKnowsWhatItMissed) {
    constexpr std::array<std::uint8_t, 4> forwards{0, 1, 3, 2};
    for (std::size_t i = 0; i < 4; ++i) {
        EXPECT_EQ(quadrature_step(forwards.at(i), forwards.at((i + 1) % 4)), 1);
        EXPECT_EQ(quadrature_step(forwards.at(i), forwards.at((i + 3) % 4)), -1);
        EXPECT_EQ(quadrature_step(forwards.at(i), forwards.at(i)), 0);
        EXPECT_EQ(quadrature_step(forwards.at(i), forwards.at((i + 2) % 4)), skipped);
    }
}

TEST(ControllerTravel, AddsUpOddCountsWithoutLosingANanometre) {
    Travel travel(314159);
    travel.begin({10, 0}, 0);
    travel.update({1000010, 1000}, 1000);
    EXPECT_EQ(travel.counted_um(), 314159000);
    travel.update({9, 2000}, 2000);
    EXPECT_EQ(travel.counted_um(), -315); // floor of -314.159
    travel.update({10, 3000}, 3000);
    EXPECT_EQ(travel.counted_um(), 0);
}

TEST(ControllerTravel, MeasuresSpeedFromCountToCountAndLooksBetweenThem) {
    Travel travel(100000);
    travel.begin({0, 0}, 0);
    for (std::int32_t count = 1; count <= 300; ++count) // a count every 400 µs: 250 mm/s
        travel.update({count, static_cast<std::uint32_t>(count * 400)},
                      static_cast<std::uint32_t>(count * 400 + 90));
    EXPECT_EQ(travel.speed_um_s(), 250000U);
    EXPECT_NEAR(static_cast<double>(travel.position_um(300 * 400 + 200)), 30000 + 50, 1);
    EXPECT_EQ(travel.position_um(300 * 400 + 1000), 30000 + 100); // never over the next count
    EXPECT_EQ(travel.passed(300 * 400 + 200).tick_us, 300U * 400);
    EXPECT_EQ(travel.passed(300 * 400 + 30000).tick_us, 300U * 400 + 30000); // standing
    travel.update({300, 300 * 400}, 300 * 400 + 100001);
    EXPECT_EQ(travel.speed_um_s(), 0U);
}

class ControllerGates : public testing::Test {
protected:
    std::vector<Event> events() {
        std::vector<Event> found;
        Event event;
        std::uint32_t seq = 0;
        while (buffer.next_to_send(event, seq))
            found.push_back(event);
        return found;
    }
    std::array<std::uint8_t, 600> room{};
    EventBuffer buffer{room.data(), 600, 60};
    GateWatch gates{buffer};
};

TEST_F(ControllerGates, SimultaneousEdgesOfAllBeamsHaveOneTick) {
    gates.begin(0xFFFF, 0);
    gates.take({100, 0xFFFF});
    gates.take({1600, 0});
    const auto found = events();
    ASSERT_EQ(found.size(), 16U);
    for (std::size_t i = 0; i < 16; ++i) {
        EXPECT_EQ(found[i].tick_us, 100U);
        EXPECT_EQ(found[i].number, 1500U);
        EXPECT_EQ(found[i].channel, i % 8);
        EXPECT_EQ(found[i].gate, i / 8);
    }
}

TEST_F(ControllerGates, ABeamDarkForLongHasItsLineInTimeAndIsBlockedAfterAQuarterOfASecond) {
    gates.begin(0xFFFF, 0);
    gates.take({1000, 1});
    gates.check(45999);
    EXPECT_TRUE(events().empty());
    gates.check(46000);
    auto found = events();
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].number, longest_pulse_us);
    gates.check(251000);
    gates.check(900000);
    found = events();
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].word, Word::gate_blocked);
    gates.take({950000, 0});
    EXPECT_TRUE(events().empty()); // its line was sent
    gates.take({960000, 1});
    gates.take({961000, 0});
    EXPECT_EQ(events().size(), 1U);
}

TEST_F(ControllerGates, WhatWasDarkAtTheStartHasNoPulseAndChannelsNotWatchedAreSilent) {
    gates.take({10, 0x0201});
    gates.begin(0x0101, 500);
    gates.take({600, 0x0200});
    gates.take({700, 0x0202});
    gates.take({800, 0});
    EXPECT_TRUE(events().empty());
    gates.take({900, 0x0100});
    gates.take({1000, 0});
    EXPECT_EQ(events().size(), 1U);
    gates.end();
    gates.take({1100, 0x0100});
    gates.take({1200, 0});
    EXPECT_TRUE(events().empty());
}

TEST_F(ControllerGates, TheCounterMayWrapInsideAPulse) {
    gates.begin(1, 0xFFFFFF00);
    gates.take({0xFFFFFFF0, 1});
    gates.check(0x10);
    gates.take({0x20, 0});
    const auto found = events();
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].number, 0x30U);
}

} // namespace
} // namespace dropledger::controller
