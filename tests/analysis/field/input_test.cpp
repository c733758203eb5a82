#include "analysis/field/input/ground.hpp"
#include "analysis/field/input/line.hpp"
#include "analysis/field/input/places.hpp"
#include "analysis/field/input/swapped.hpp"
#include "analysis/field/table/decoded_source.hpp"
#include "analysis/field/table/names.hpp"
#include "analysis/field/table/table_time.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace dropledger::field {
namespace {

TEST(Line, GivesBackWhatWasPutInWhateverItsOrder) {
    std::vector<FieldDrop> drops;
    for (const std::int64_t number : {7LL, 8LL, 3LL, 1'000'000'000'000LL, 0LL, -5LL}) {
        FieldDrop drop;
        drop.drop = number;
        drop.time_s = 1776196800.5 - static_cast<double>(number % 100);
        drop.at = {-179.123456789, 52.00000001 * static_cast<double>(number % 2)};
        drop.target = static_cast<std::uint32_t>(std::abs(number % 50));
        drop.seen = static_cast<std::uint32_t>(std::abs(number % 9));
        drop.line = static_cast<std::uint32_t>(std::abs(number % 77));
        drop.alert = number % 2 == 0;
        drop.has_place = number != 3;
        drop.has_offset = number > 5;
        drop.offset_mm = drop.has_offset ? -12.25F : 0.0F;
        drops.push_back(drop);
    }
    const auto back = Line(drops).drops();
    ASSERT_EQ(back.size(), drops.size());
    for (std::size_t i = 0; i < drops.size(); ++i) {
        EXPECT_EQ(back[i].drop, drops[i].drop);
        EXPECT_DOUBLE_EQ(back[i].time_s, drops[i].time_s);
        EXPECT_NEAR(back[i].at.x, drops[i].at.x, 1e-9);
        EXPECT_NEAR(back[i].at.y, drops[i].at.y, 1e-9);
        EXPECT_EQ(back[i].target, drops[i].target);
        EXPECT_EQ(back[i].seen, drops[i].seen);
        EXPECT_EQ(back[i].line, drops[i].line);
        EXPECT_EQ(back[i].alert, drops[i].alert);
        EXPECT_EQ(back[i].has_place, drops[i].has_place);
        EXPECT_FLOAT_EQ(back[i].offset_mm, drops[i].offset_mm);
    }
}

struct Written {
    const char* text;
    double seconds;
};
class TimesOfTables : public testing::TestWithParam<Written> {};

TEST_P(TimesOfTables, AreSecondsSince1970) {
    const auto time = parse_table_time(GetParam().text, {});
    ASSERT_TRUE(time) << GetParam().text;
    EXPECT_NEAR(time->seconds, GetParam().seconds, 1e-3) << GetParam().text;
}

// `date -u -d @1776197703` prints 2026-04-14 20:15:03
INSTANTIATE_TEST_SUITE_P(Forms, TimesOfTables,
                         testing::Values(Written{"1776197703", 1776197703.0},
                                         Written{"1776197703,5", 1776197703.5},
                                         Written{"1776197703500", 1776197703.5},
                                         Written{"1776197703500000", 1776197703.5},
                                         Written{"2026-04-14T20:15:03Z", 1776197703.0},
                                         Written{"2026-04-14T22:15:03+02:00", 1776197703.0},
                                         Written{"2026-04-14 20:15", 1776197700.0},
                                         Written{"14.04.2026 20:15:03", 1776197703.0},
                                         Written{"14.4.26 20:15:03,25", 1776197703.25},
                                         Written{"14/04/2026 20:15:03", 1776197703.0},
                                         Written{"04/14/2026 8:15:03 PM", 1776197703.0},
                                         Written{"04-14-2026 20:15:03", 1776197703.0},
                                         Written{"20:15:03", 72903.0}));

TEST(TimesOfTables, SayWhatTheyLeaveOpen) {
    EXPECT_TRUE(parse_table_time("03/04/2026 20:15", {})->ambiguous);
    EXPECT_TRUE(parse_table_time("03-04-2026 20:15", {})->ambiguous);
    EXPECT_FALSE(parse_table_time("2026-04-03 20:15", {})->ambiguous);
    EXPECT_FALSE(parse_table_time("03.04.2026 20:15", {})->ambiguous);
    EXPECT_FALSE(parse_table_time("20:15:03", {})->has_date);
    EXPECT_EQ(parse_table_time("2026-04-14T22:15:03+02:00", {})->zone_minutes, 120);
    for (const char* const bad : {"", "soon", "25:61", "2026-13-01 00:00", "30.02.2026 10:00"})
        EXPECT_FALSE(parse_table_time(bad, {})) << bad;
}

TEST(Names, BecomeNumbersInTheirNaturalOrderBehindPlainOnes) {
    Names names;
    const auto ten = names.id_of("A10");
    const auto two = names.id_of("A2");
    EXPECT_EQ(names.id_of("7"), 7);
    EXPECT_EQ(names.id_of("A10"), ten);
    const auto numbers = names.number_names();
    EXPECT_EQ(numbers.at(two), 8);
    EXPECT_EQ(numbers.at(ten), 9);
    EXPECT_EQ(names.by_number().at(9), "A10");
    EXPECT_TRUE(naturally_less("F1-9", "F1-10"));
    EXPECT_FALSE(naturally_less("F2-1", "F1-10"));
}

std::string decoded(std::string bytes) {
    StringSource source(std::move(bytes));
    DecodedSource text(source);
    return read_whole(text, 1000).value();
}

TEST(DecodedSource, TurnsUtf16AndLatin1IntoUtf8) {
    EXPECT_EQ(decoded(std::string("\xFF\xFE"
                                  "A\0\xFC\0",
                                  6)),
              "A\xC3\xBC");
    EXPECT_EQ(decoded(std::string("\xFE\xFF\0A\xD8\x3D\xDE\x00", 8)), "A\xF0\x9F\x98\x80");
    EXPECT_EQ(decoded("S\xFC"
                      "d"),
              "S\xC3\xBC"
              "d");
    EXPECT_EQ(decoded("\xEF\xBB\xBFS\xC3\xBC"
                      "d"),
              "S\xC3\xBC"
              "d");
    EXPECT_EQ(decoded(""), "");
}

std::vector<FieldDrop> going_north(std::size_t count) {
    std::vector<FieldDrop> drops(count);
    for (std::size_t i = 0; i < count; ++i) {
        drops[i].drop = static_cast<std::int64_t>(i);
        drops[i].at = {0.0, 0.2 * static_cast<double>(i)};
    }
    return drops;
}

TEST(Places, ThatNoMachineCanHaveDrivenStandBetweenTheirNeighbours) {
    auto drops = going_north(40);
    for (const std::size_t i : {0U, 17U, 18U, 39U})
        drops[i].at.x = 5000.0;
    const Mended mended = mend_places(drops, false);
    EXPECT_EQ(mended.kept_out, 4);
    for (std::size_t i = 0; i < drops.size(); ++i) {
        EXPECT_NEAR(drops[i].at.x, 0.0, 1e-9);
        EXPECT_NEAR(drops[i].at.y, 0.2 * static_cast<double>(i), 1e-9);
    }
}

TEST(Places, OfAMachineThatWasMovedAreLeft) {
    auto drops = going_north(60);
    for (std::size_t i = 30; i < 60; ++i)
        drops[i].at.x = 500.0;
    EXPECT_EQ(mend_places(drops, false).kept_out, 0);
}

TEST(Ground, IsMeasuredAlongTheDropsAndNotAlongTheirScatter) {
    auto drops = going_north(501); // 100 m, each place 3 cm to one side or the other
    for (std::size_t i = 0; i < drops.size(); ++i)
        drops[i].at.x = i % 2 == 0 ? 0.03 : -0.03;
    EXPECT_NEAR(length_along_m(drops, false), 100.0, 0.05);
    EXPECT_EQ(length_along_m({}, false), 0.0);
}

std::optional<double> utc(const char* text, const TimeZone& zone, double before_s = 0.0) {
    const auto time = parse_table_time(text, {});
    return time && time->is_local ? std::optional(zone.from_local(time->seconds, before_s).utc_s)
                                  : std::nullopt;
}

TEST(TimesOfTables, AreLocalOnlyWhereTheyStateNoZone) {
    EXPECT_EQ(utc("2026-04-14 22:15:03", fixed_zone(120)), 1776197703.0);
    EXPECT_EQ(utc("14.04.2026 22:15:03", fixed_zone(120)), 1776197703.0);
    for (const char* const stated :
         {"2026-04-14T22:15:03+02:00", "2026-04-14T20:15:03Z", "1776197703", "22:15:03"})
        EXPECT_FALSE(utc(stated, fixed_zone(120))) << stated;
}

// Constructed: passes of two rows in one direction, 0.2 m and 0.5 m apart, at 52 N, 10 E.
Field driven(double heading_deg, bool swap) {
    constexpr double metres_per_degree = 111'195.0;
    const double turn = heading_deg / 57.29577951308232;
    Field field;
    for (std::int64_t pass = 0; pass < 6; ++pass)
        for (std::int64_t row = 0; row < 2; ++row) {
            Line& line = field.lines[{pass, row}];
            for (std::int64_t i = 0; i < 200; ++i) {
                const double along = 0.2 * static_cast<double>(pass % 2 == 0 ? i : 199 - i);
                const double across =
                    1.0 * static_cast<double>(pass) + 0.5 * static_cast<double>(row);
                const double east = std::sin(turn) * along + std::cos(turn) * across;
                const double north = std::cos(turn) * along - std::sin(turn) * across;
                FieldDrop drop;
                drop.drop = i;
                drop.seen = 1;
                drop.at = {10.0 + east / metres_per_degree / std::cos(52.0 / 57.29577951308232),
                           52.0 + north / metres_per_degree};
                if (swap)
                    std::swap(drop.at.x, drop.at.y);
                line.push_back(drop);
            }
        }
    return field;
}

TEST(Coordinates, ThatAreSwappedShowInRowsThatLieAslant) {
    for (const double heading : {20.0, 45.0, 110.0}) {
        EXPECT_TRUE(look_swapped(driven(heading, true))) << heading;
        EXPECT_FALSE(look_swapped(driven(heading, false))) << heading;
    }
    EXPECT_FALSE(look_swapped(driven(0.0, true))); // due north: square either way
}

} // namespace
} // namespace dropledger::field
